//! Pouring from one bottle into another of the same make.

use fettlebook_model::command::{LiquidAmount, Said};
use fettlebook_model::{Command, Entry, Reason, Refusal};
use fettlebook_quantity::Volume;

use crate::shop::{Shop, at, done, flags, tag, weighing};

const COMPOUND: &str = "coarse-compound-1l";

fn fill(bottle: &str, from: &str, volume_ul: Option<i64>) -> Command {
    Command::Fill {
        said: Said::default(),
        bottle: tag(bottle),
        from: tag(from),
        volume_ul: volume_ul.map(Volume::from_ul),
    }
}

fn refused(shop: &mut Shop, command: Command) -> Refusal {
    shop.try_say(command).unwrap_err()
}

/// B-01 is a litre of compound, full; B-03 another with 300 mL.
fn two_bottles() -> Shop {
    let mut shop = Shop::stocked();
    shop.receive(COMPOUND, 1);
    shop.count("B-03", 300_000);
    shop
}

fn levels(shop: &Shop) -> (i64, i64) {
    (shop.left_ul("B-01"), shop.left_ul("B-03"))
}

/// Reckoned by hand: 700 mL fit into a litre that holds 300.
#[test]
fn what_leaves_one_bottle_is_in_the_other_and_a_reversal_takes_it_back() {
    let mut shop = two_bottles();
    let entry = shop.say(fill("B-03", "B-01", None)).clone();
    assert_eq!(levels(&shop), (300_000, 1_000_000));
    assert!(entry.flags.is_empty(), "{:?}", flags(&entry));
    shop.reverse(entry.seq).unwrap();
    assert_eq!(levels(&shop), (1_000_000, 300_000));
    let seq = shop.say(fill("B-01", "B-03", Some(50_000))).seq;
    assert_eq!(levels(&shop), (1_050_000, 250_000));
    shop.reverse(seq).unwrap();
    assert_eq!(levels(&shop), (1_000_000, 300_000));
    // No more than there is, though more would fit.
    shop.count("B-01", 100_000);
    shop.say(fill("B-03", "B-01", None));
    assert_eq!(levels(&shop), (0, 400_000));
}

#[test]
fn what_was_poured_from_a_bottle_that_was_binned_is_recorded_and_flagged() {
    let mut shop = two_bottles();
    shop.lose("B-01");
    let entry = shop.say(fill("B-03", "B-01", Some(50_000)));
    let said = flags(entry).join("\n");
    assert!(said.contains("B-01 is binned in the book."), "{said}");
}

/// Told after a use that came later: what fitted then is what was poured.
#[test]
fn as_much_fits_as_fitted_when_it_was_poured() {
    let mut shop = two_bottles();
    shop.go_to("2026-03-05 15:00");
    shop.log_loose(|loose| {
        let amount = LiquidAmount::Volume(Volume::from_ul(100_000));
        loose.bottles = vec![(tag("B-03"), amount)];
    })
    .unwrap();
    assert_eq!(levels(&shop), (1_000_000, 200_000));
    shop.say(Command::Fill {
        said: done("2026-03-04 17:00"),
        bottle: tag("B-03"),
        from: tag("B-01"),
        volume_ul: None,
    });
    assert_eq!(levels(&shop), (300_000, 900_000));
}

#[test]
fn more_than_is_there_or_fits_is_recorded_and_flagged() {
    let mut shop = two_bottles();
    let entry: Entry = shop.say(fill("B-01", "B-03", Some(400_000))).clone();
    assert_eq!(
        flags(&entry),
        [
            "B-03 held 300 mL in the book, less than the 400 mL poured from it.",
            "B-01 would hold 1.4 L, more than a full bottle of 1 L."
        ]
    );
    assert_eq!(levels(&shop), (1_400_000, -100_000));
    assert!(shop.piece("B-01").needs_count && shop.piece("B-03").needs_count);
}

#[test]
fn another_liquid_itself_or_nothing_to_pour_is_refused_and_nothing_changes() {
    let mut shop = two_bottles();
    let before = shop.entries.len();
    let other = refused(&mut shop, fill("B-02", "B-01", None));
    assert_eq!(
        (other.reason, other.field.as_str()),
        (Reason::FieldInvalid, "from")
    );
    assert!(
        other.what.contains("B-01 is") && other.what.contains("one liquid"),
        "{}",
        other.what
    );
    assert_eq!(refused(&mut shop, fill("B-01", "B-01", None)).field, "from");
    let full = refused(&mut shop, fill("B-01", "B-03", None));
    assert!(full.what.contains("B-01 is full"), "{}", full.what);
    assert_eq!(
        refused(&mut shop, fill("P-01", "B-01", None)).reason,
        Reason::WrongSort
    );
    assert_eq!(shop.entries.len(), before);
    shop.count("B-03", 0);
    let empty = refused(&mut shop, fill("B-01", "B-03", None));
    assert!(empty.what.contains("B-03 holds nothing"), "{}", empty.what);
}

/// The earlier of both days, for what came in does not make what was there any newer.
#[test]
fn a_bottle_is_as_old_as_the_oldest_that_is_in_it() {
    let mut shop = Shop::stocked();
    for (lot, expiry) in [("L1", "2026-09-30"), ("L2", "2027-03-31")] {
        shop.receive_as(COMPOUND, 1, |receipt| {
            receipt.lot = lot.to_owned();
            receipt.expiry = Some(expiry.parse().unwrap());
            receipt.volume_ul = Some(Volume::from_ul(400_000));
        });
    }
    let stands = |shop: &Shop, bottle: &str| {
        let bottle = shop.piece(bottle).bottle().unwrap().clone();
        (bottle.lot, bottle.expiry.unwrap().to_string())
    };
    let said = |lot: &str, expiry: &str| (lot.to_owned(), expiry.to_owned());
    let seq = shop.say(fill("B-04", "B-03", Some(100_000))).seq;
    assert_eq!(stands(&shop, "B-04"), said("L2, L1", "2026-09-30"));
    assert!(shop.piece("B-04").bottle().unwrap().opened_at.is_some());
    shop.reverse(seq).unwrap();
    assert_eq!(stands(&shop, "B-04"), said("L2", "2027-03-31"));
    // The other way round, and twice: the day stays, and a lot is named once.
    let opened = shop.piece("B-03").bottle().unwrap().opened_at;
    assert!(opened.is_some(), "it came opened");
    shop.go_to("2026-03-06 08:00");
    for _ in 0..2 {
        shop.say(fill("B-03", "B-04", Some(10_000)));
        assert_eq!(stands(&shop, "B-03"), said("L1, L2", "2026-09-30"));
    }
    let first = |shop: &Shop| shop.piece("B-03").bottle().unwrap().opened_at;
    assert_eq!(first(&shop), opened, "the first of what is in it");
    // A sealed bottle is as old, once opened, as what is poured into it.
    shop.receive(COMPOUND, 1);
    shop.count("B-05", 500_000);
    let mut sealed = shop.clone();
    sealed.say(fill("B-05", "B-03", Some(10_000)));
    let held = sealed.piece("B-05").bottle().unwrap().opened_at;
    assert_eq!(held, opened);
    // Into an empty bottle goes what is poured, and nothing else is in it.
    shop.count("B-03", 0);
    shop.say(fill("B-03", "B-04", Some(100_000)));
    assert_eq!(stands(&shop, "B-03"), said("L2", "2027-03-31"));
}

/// Source: arithmetic: 1 L less 200 mL that was poured out and 100 mL that a weigh-in finds gone.
#[test]
fn what_was_poured_out_is_not_taken_for_what_a_job_used() {
    let mut shop = Shop::worked();
    shop.log("thursday");
    shop.receive(COMPOUND, 1);
    shop.count("B-03", 300_000);
    shop.say(fill("B-03", "B-01", Some(200_000)));
    // 60 g of bottle, and 700 mL of 1.1 g/mL.
    shop.say(Command::Weigh {
        said: Said::default(),
        weighings: vec![weighing("B-01", 830)],
    });
    let bottle = shop.piece("B-01").bottle().unwrap();
    let stretch = &bottle.tally.stretches[0];
    assert_eq!(stretch.actual_quantity, 100_000);
    assert_eq!(stretch.from, None);
    assert!(stretch.until == at("2026-03-05 15:00"));
}
