//! What pieces of another book bring along: what they cost, hours, pad changes.

use fettlebook_model::command::{NotebookRow, Receipt};
use fettlebook_model::kit::{MachineState, PlateState, Readiness, State};
use fettlebook_model::wear::BinReason;
use fettlebook_model::{Command, Reason};
use fettlebook_quantity::{Seconds, Volume};

use super::shop;
use crate::shop::{dec, eur, money, noted, receipt, records, replayed, tag};

fn taken_over(piece: &str, receipt: Receipt) -> Command {
    Command::Receive(Box::new(Receipt {
        tags: vec![tag(piece)],
        ..receipt
    }))
}

/// A bottle of coarse compound that came full, a litre for 14.50.
fn bottle(left_ml: i64) -> Receipt {
    Receipt {
        volume_ul: Some(Volume::from_ul(left_ml * 1_000)),
        landed: Some(eur("14.50")),
        landed_quantity: Some(1_000_000),
        ..receipt("coarse-compound-1l", 0)
    }
}

/// Source: by hand: 300 of the 1000 mL are left of 14.50, which is 4.35.
#[test]
fn a_bottle_comes_with_what_of_its_cost_is_left_in_it() {
    let mut shop = shop();
    shop.say(taken_over("B-71", bottle(300)));
    let cost = shop.cost("B-71");
    assert_eq!((cost.landed, cost.quantity), (eur("4.35"), 300_000));
    assert_eq!(cost.average, dec("0.0000145"));
    // An empty one is worth nothing, and says nothing of what the make costs.
    shop.say(taken_over("B-72", bottle(0)));
    assert_eq!(shop.piece("B-72").cost, None);
    assert_eq!(records(&replayed(&shop.entries)), records(&shop.book));
}

/// Source: by hand: two pads at 8.00 and one at 11.00 are 9.00 each; one that was binned long ago is history.
#[test]
fn what_came_with_its_cost_counts_in_the_average_of_what_comes_next() {
    let mut shop = shop();
    let pad = |cost: &str| NotebookRow {
        landed: Some(eur(cost)),
        ..noted("P-71", "fine-foam-150", 0)
    };
    let second = NotebookRow {
        tag: tag("P-72"),
        ..pad("8.00")
    };
    let binned = NotebookRow {
        tag: tag("P-73"),
        readiness: Readiness::Binned(BinReason::Torn),
        ..pad("99.00")
    };
    shop.import(vec![pad("8.00"), second, binned]);
    assert_eq!(shop.landed("P-71 P-72 P-73"), ["8.00", "8.00", "99.00"]);
    shop.say(taken_over(
        "P-74",
        Receipt {
            landed: Some(eur("11.00")),
            ..receipt("fine-foam-150", 0)
        },
    ));
    assert_eq!(shop.cost("P-74").average, dec("9"));
}

#[test]
fn hours_and_pad_changes_come_along() {
    let mut shop = shop();
    let run = |make: &str, changes| Receipt {
        run_time: Some(Seconds::from_s(90_000)),
        change_count: changes,
        ..receipt(make, 0)
    };
    shop.say(taken_over("BP-71", run("plate-125-m8", Some(40))));
    shop.say(taken_over("M-71", run("orbital-150", None)));
    let plate = PlateState {
        run_time_ms: 90_000_000,
        change_count: 40,
    };
    let machine = MachineState {
        run_time_ms: 90_000_000,
    };
    assert_eq!(shop.piece("BP-71").state, State::Plate(plate));
    assert_eq!(shop.piece("M-71").state, State::Machine(machine));
}

#[test]
fn what_does_not_go_with_the_piece_is_refused_and_changes_nothing() {
    let mut shop = shop();
    let before = records(&shop.book);
    let foam = || receipt("fine-foam-150", 0);
    for (bad, reason, field) in [
        (
            Receipt {
                run_time: Some(Seconds::from_s(1)),
                ..foam()
            },
            Reason::FieldInvalid,
            "run_time_s",
        ),
        (
            Receipt {
                change_count: Some(1),
                ..receipt("orbital-150", 0)
            },
            Reason::FieldInvalid,
            "change_count",
        ),
        (
            Receipt {
                landed_quantity: Some(2),
                ..foam()
            },
            Reason::FieldMissing,
            "landed_cost",
        ),
        (
            Receipt {
                landed: Some(money("8.00", "GBP")),
                ..foam()
            },
            Reason::CurrencyMismatch,
            "landed_cost",
        ),
    ] {
        let refused = shop.try_say(taken_over("X-71", bad)).unwrap_err();
        assert_eq!((refused.reason, refused.field.as_str()), (reason, field));
    }
    let row = NotebookRow {
        landed: Some(money("8.00", "GBP")),
        ..noted("P-71", "fine-foam-150", 0)
    };
    let rows = Command::ImportPads {
        note: String::new(),
        rows: vec![row],
    };
    let refused = shop.try_say(rows).unwrap_err();
    assert_eq!(refused.reason, Reason::CurrencyMismatch);
    assert!(refused.field.ends_with("landed_cost"), "{}", refused.field);
    assert_eq!(records(&shop.book), before);
}
