//! How worn each piece is by its own clock, and how many jobs it has left.

use fettlebook_model::Command;
use fettlebook_model::kit_wear::{Clock, Clocks, PieceWear, is_clocked};
use fettlebook_model::make::Figures;
use fettlebook_model::wear::Band;
use fettlebook_model::wear_report::pad_left;

use crate::shop::{Shop, id, tag};

fn read<'a>(shop: &'a Shop, piece: &str) -> PieceWear<'a> {
    Clocks::of(&shop.book, shop.now)
        .read(shop.piece(piece))
        .unwrap()
}

fn worked() -> Shop {
    let mut shop = Shop::worked();
    shop.log("thursday");
    shop
}

/// Source: arithmetic: 300 h and 1,000 changes by the policy; nine changes and the machine's own time of one
/// job, so that such jobs last for as often as that share goes into what is left.
#[test]
fn a_plate_goes_by_hours_and_changes_and_says_how_many_jobs_are_left() {
    let shop = worked();
    let plate = read(&shop, "BP-01");
    let machine = read(&shop, "M-01");
    let run = plate.run_time_s.unwrap();
    assert_eq!(run.rated, Some(300 * 3_600));
    assert_eq!(
        plate.change_count,
        Some(Clock {
            count: 9,
            rated: Some(1_000)
        })
    );
    assert_eq!(
        machine.run_time_s,
        Some(Clock {
            count: run.count,
            rated: None
        })
    );
    assert!(run.count > 3_600, "{run:?}");
    let damage = plate.damage.unwrap();
    assert!((damage - (run.count as f64 / 1_080_000.0 + 0.009)).abs() < 1e-6);
    let left = plate.jobs_left.unwrap();
    assert!(
        (left.typical * damage / (1.0 - damage) - 1.0).abs() < 1e-3,
        "{left:?}"
    );
    assert_eq!(left.low, left.high);
    assert_eq!(plate.rests_on, "Rests on the rating of the policy.");
    assert_eq!((plate.band, machine.band), (Some(Band::Sound), None));
}

#[test]
fn a_machine_has_hours_and_no_rated_life() {
    let shop = worked();
    let machine = read(&shop, "M-01");
    assert_eq!((machine.damage, machine.jobs_left), (None, None));
    assert!(machine.rests_on.contains("No life is rated"));
}

/// Source: arithmetic: 40 of the 50 washes of the policy.
#[test]
fn towels_go_by_the_washes_of_their_bundle() {
    let mut shop = Shop::new();
    shop.receive_towels(24, 40);
    let towels = read(&shop, "T-01");
    assert_eq!(
        towels.wash_count,
        Some(Clock {
            count: 40,
            rated: Some(50)
        })
    );
    assert_eq!((towels.damage, towels.band), (Some(0.8), Some(Band::Tired)));
}

/// One figure for a pad, wherever it is asked about.
#[test]
fn a_pad_says_what_its_own_sheet_says() {
    let shop = worked();
    let pad = read(&shop, "P-01");
    let sheet = pad_left(&shop.book, tag("P-01"), shop.now).unwrap();
    assert_eq!(pad.jobs_left, Some(sheet.jobs_left));
    assert_eq!(
        (pad.damage, pad.rests_on),
        (Some(sheet.damage), sheet.rests_on)
    );
    assert_eq!(pad.work_micro_sections.unwrap().rated, Some(130_000_000));
}

#[test]
fn a_rating_that_a_person_gave_is_told_from_that_of_the_policy() {
    let mut shop = worked();
    let was = shop
        .book
        .make(&id("plate-125-m8"))
        .unwrap()
        .as_ref()
        .clone();
    let mut make = was.clone();
    if let Figures::Plate(plate) = &mut make.figures {
        plate.rated_run_h = Some(150);
    }
    shop.say(Command::EditMake { was, make });
    let said = read(&shop, "BP-01").rests_on;
    assert_eq!(said, "Rests on the ratings of you and of the policy.");
}

#[test]
fn what_has_no_clock_or_is_binned_is_left_out() {
    let mut shop = worked();
    shop.bin("P-02", "torn");
    let clocked = |piece: &str| is_clocked(shop.piece(piece));
    assert!(clocked("P-01") && clocked("T-01"));
    assert!(!clocked("P-02") && !clocked("B-01") && !clocked("S-01"));
    assert!(
        Clocks::of(&shop.book, shop.now)
            .read(shop.piece("B-01"))
            .is_none()
    );
}
