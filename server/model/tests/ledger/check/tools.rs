//! Machines and plates: there, fitting, and rated for the speed.

use fettlebook_model::Command;
use fettlebook_model::check::{Line, LineKind, Verdict};
use fettlebook_model::policy::PolicyKey;

use super::{asks, says, thursday_line};
use crate::shop::{Shop, make, pad_use, plate, step, tag};

fn plate_line(shop: &mut Shop) -> Line {
    thursday_line(shop, LineKind::Plate, Some("cut"))
}

/// Puts another plate in the place of the one of the story.
fn with_plate(diameter_mm: i64, rated: Option<i64>) -> Shop {
    let mut shop = Shop::stocked();
    shop.lose("BP-01");
    shop.say(Command::CreateMake {
        make: make("other-plate", plate(diameter_mm, rated)),
    });
    shop.receive("other-plate", 1);
    shop
}

#[test]
fn a_job_without_its_machine_is_stopped() {
    let mut shop = Shop::stocked();
    shop.set_aside("M-01");
    let line = thursday_line(&mut shop, LineKind::Machine, Some("cut"));
    assert_eq!((line.need, line.have, line.verdict), (1, 0, Verdict::Stop));
    assert!(asks(&line, "Bring orbital 150 back from aside"));
    assert!(line.picks.is_empty());
}

/// Source: the marked-speed rule of tool-safety standards (IEC 62841-2-4, ISO 11148-8): an
/// accessory's rated speed is at least the machine's marked speed, 5000/min here.
#[test]
fn a_plate_rated_below_the_machine_is_refused() {
    let mut shop = with_plate(135, Some(4_999));
    let line = plate_line(&mut shop);
    assert_eq!((line.short, line.verdict), (1, Verdict::Stop));
    let why = "BP-02 is rated 4999/min, below the machine's 5000/min: refused.";
    assert!(says(&line, why), "{}", line.reason);
    assert!(line.picks.is_empty());
    assert_eq!(
        plate_line(&mut with_plate(135, Some(5_000))).verdict,
        Verdict::Go
    );
}

/// What can hurt somebody never runs together: each sentence by itself, plates of which the same is so in one.
#[test]
fn plates_that_are_refused_are_told_sentence_by_sentence_and_those_alike_together() {
    let mut shop = with_plate(135, Some(4_999));
    shop.receive("other-plate", 1);
    for (id, diameter_mm) in [("narrow", 100), ("wide", 151)] {
        let make = make(id, plate(diameter_mm, Some(12_000)));
        shop.say(Command::CreateMake { make });
        shop.receive(id, 2);
    }
    let line = plate_line(&mut shop);
    assert_eq!(
        line.reasons,
        [
            "Short by 1.",
            "BP-02 and BP-03 are rated 4999/min, below the machine's 5000/min: refused.",
            "BP-04 and BP-05 are 100 mm wide and the pad 150 mm: refused, for they do not carry the pad's edge.",
            "BP-06 and BP-07 are 151 mm wide and the pad 150 mm: refused, for their edges would reach the paint.",
        ]
    );
    assert_eq!(line.reasons.join(" "), line.reason);
}

#[test]
fn a_low_plate_beside_a_good_one_is_only_pointed_out() {
    let mut shop = Shop::stocked();
    shop.say(Command::CreateMake {
        make: make("slow-plate", plate(135, Some(4_000))),
    });
    shop.receive("slow-plate", 1);
    let line = plate_line(&mut shop);
    assert_eq!((line.short, line.verdict), (0, Verdict::Watch));
    assert_eq!(line.picks[0].tag, tag("BP-01"));
    assert!(asks(&line, "Keep BP-02 off this machine."));
}

#[test]
fn a_plate_of_unknown_rating_is_watched_and_comes_after_a_known_one() {
    let mut shop = with_plate(135, None);
    let line = plate_line(&mut shop);
    assert_eq!((line.short, line.verdict), (0, Verdict::Watch));
    assert!(says(&line, "The rated speed of BP-02 is not known."));
    shop.say(Command::CreateMake {
        make: make("known-plate", plate(140, Some(12_000))),
    });
    shop.receive("known-plate", 1);
    assert_eq!(plate_line(&mut shop).picks[0].tag, tag("BP-03"));
}

/// Basis: common practice, no source: the pad is up to 40 mm wider than its plate, watched below 4, 5 to
/// 25 usual.
#[test]
fn a_plate_fits_a_pad_that_is_somewhat_wider() {
    for (diameter, verdict, why) in [
        (
            109,
            Verdict::Stop,
            "BP-02 is 109 mm wide and the pad 150 mm: refused",
        ),
        (110, Verdict::Go, "5 to 25 mm wider is usual"),
        (125, Verdict::Go, ""),
        (145, Verdict::Go, ""),
        (146, Verdict::Go, "5 to 25 mm wider is usual"),
        (147, Verdict::Watch, "the plate's edge can reach the paint"),
        (150, Verdict::Watch, "the plate's edge can reach the paint"),
        (
            151,
            Verdict::Stop,
            "BP-02 is 151 mm wide and the pad 150 mm: refused",
        ),
    ] {
        let line = plate_line(&mut with_plate(diameter, Some(12_000)));
        assert_eq!(line.verdict, verdict, "{diameter}: {}", line.reason);
        assert_eq!(line.reason.is_empty(), why.is_empty(), "{}", line.reason);
        assert!(says(&line, why), "{diameter}: {}", line.reason);
        assert_eq!(line.todos.is_empty(), verdict == Verdict::Go, "{diameter}");
    }
}

/// A plate of another width beside one that fits is no matter of this step.
#[test]
fn a_plate_for_another_pad_is_not_mentioned_where_one_fits() {
    let mut shop = Shop::stocked();
    shop.say(Command::CreateMake {
        make: make("small-plate", plate(75, Some(12_000))),
    });
    shop.receive("small-plate", 1);
    let line = plate_line(&mut shop);
    assert_eq!((line.verdict, line.reason.as_str()), (Verdict::Go, ""));
}

/// A book that set its own margins keeps them.
#[test]
fn a_plate_that_the_book_finds_too_wide_is_refused() {
    let mut shop = with_plate(145, Some(12_000));
    assert_eq!(plate_line(&mut shop).verdict, Verdict::Go);
    shop.set_policy(PolicyKey::MarginLeastMm, 6);
    assert_eq!(plate_line(&mut shop).verdict, Verdict::Stop);
}

#[test]
fn the_usual_margin_is_the_one_of_the_book() {
    let mut shop = with_plate(124, Some(12_000));
    shop.set_policy(PolicyKey::MarginIdealMostMm, 20);
    let line = plate_line(&mut shop);
    assert!(says(&line, "5 to 20 mm wider is usual"), "{}", line.reason);
}

#[test]
fn a_plate_with_another_thread_is_not_offered() {
    let mut shop = Shop::stocked();
    shop.edit_orbital(|orbital| orbital.thread = "M14".parse().unwrap());
    let line = plate_line(&mut shop);
    assert_eq!((line.have, line.verdict), (0, Verdict::Stop));
    assert!(
        asks(&line, "Fit a plate with thread M14"),
        "{:?}",
        line.todos
    );
}

#[test]
fn of_two_alike_the_machine_and_plate_at_the_place_are_taken() {
    let mut shop = Shop::stocked();
    shop.receive("orbital-150", 1);
    shop.receive("plate-125-m8", 1);
    shop.move_to("M-01 BP-01", "van-a");
    let machine = thursday_line(&mut shop, LineKind::Machine, Some("cut"));
    assert_eq!(machine.picks[0].tag, tag("M-02"));
    assert_eq!(plate_line(&mut shop).picks[0].tag, tag("BP-02"));
}

/// Source: Palmgren–Miner by hand, rated 300 h and 1000 changes: 4500 sections of 144 s are 180 h,
/// 0.6 and a change; 7500 are 300 h.
#[test]
fn a_worn_plate_is_watched_and_comes_after_a_new_one() {
    for (sections, why) in [
        (4_490, ""),
        (4_500, "BP-01 is tired."),
        (7_500, "BP-01 is past its rated hours or pad changes."),
    ] {
        let mut shop = Shop::stocked();
        shop.log_loose(|loose| {
            loose.step = Some(step("test", "fine-foam-150", "fine-polish-500ml"));
            loose.plate = Some(tag("BP-01"));
            loose.section_count = sections;
            loose.pads = vec![pad_use("P-08")];
        })
        .unwrap();
        let line = plate_line(&mut shop);
        assert_eq!(line.reason, why, "{sections}");
        assert_eq!(line.verdict == Verdict::Watch, !why.is_empty());
        shop.receive("plate-125-m8", 1);
        assert_eq!(plate_line(&mut shop).picks[0].tag, tag("BP-02"));
    }
}

#[test]
fn a_plate_set_aside_that_would_do_is_named() {
    let mut shop = with_plate(135, Some(4_000));
    shop.receive("plate-125-m8", 1);
    shop.set_aside("BP-03");
    let line = plate_line(&mut shop);
    assert_eq!((line.short, line.verdict), (1, Verdict::Stop));
    assert!(says(&line, "Set aside: BP-03"), "{}", line.reason);
    assert!(asks(&line, "Look BP-03 over"), "{:?}", line.todos);
}
