//! Which of several pieces goes, where each of them would do.

use fettlebook_model::Command;
use fettlebook_model::check::{Line, LineKind};
use fettlebook_model::make::Grade;
use fettlebook_model::policy::PolicyKey;

use super::{check, cut_twice, line, says, thursday_line};
use crate::shop::{Shop, foam, id, make, plate, saloon_job, tag, tags_of};

fn plate_line(shop: &mut Shop) -> Line {
    thursday_line(shop, LineKind::Plate, Some("cut"))
}

fn with_plate(shop: &mut Shop, key: &str, diameter_mm: i64, rated: Option<i64>) {
    let make = make(key, plate(diameter_mm, rated));
    shop.say(Command::CreateMake { make });
    shop.receive(key, 1);
}

fn cut(shop: &mut Shop) -> Vec<fettlebook_model::Tag> {
    let cut = thursday_line(shop, LineKind::Pad, Some("cut"));
    cut.picks.iter().map(|pick| pick.tag).collect()
}

/// Basis: common practice, no source: a plate whose edge stays off the paint before one that lies at hand, and
/// of those the one with the usual margin. BP-01 is 125 mm wide with its rim of 10, the pad 150.
#[test]
fn a_plate_with_a_good_margin_is_taken_before_a_close_one_and_a_usual_one_before_both() {
    let mut shop = Shop::stocked();
    shop.lose("BP-01");
    with_plate(&mut shop, "close-plate", 148, Some(12_000));
    with_plate(&mut shop, "small-plate", 112, Some(12_000));
    shop.move_to("BP-03", "van-a");
    assert_eq!(plate_line(&mut shop).picks[0].tag, tag("BP-03"));
    shop.move_to("BP-03", "bench");
    with_plate(&mut shop, "usual-plate", 130, Some(12_000));
    assert_eq!(plate_line(&mut shop).picks[0].tag, tag("BP-04"));
}

/// A plate that is refused is named wherever it lies, also where another van has it.
#[test]
fn a_plate_that_is_refused_is_named_wherever_it_is() {
    let mut shop = Shop::stocked();
    with_plate(&mut shop, "slow-plate", 135, Some(4_000));
    shop.move_to("BP-02", "van-b");
    let mut job = saloon_job("thursday", "2026-03-05 08:00");
    job.place = id("van-a");
    shop.say(Command::BookJob { job });
    let plate = plate_line(&mut shop);
    let why = "BP-02 is rated 4000/min, below the machine's 5000/min: refused.";
    assert!(plate.reason.contains(why), "{}", plate.reason);
}

/// What is set aside and would be refused is no help.
#[test]
fn a_slow_plate_that_is_set_aside_is_not_asked_for() {
    let mut shop = Shop::stocked();
    shop.lose("BP-01");
    with_plate(&mut shop, "slow-plate", 135, Some(4_000));
    shop.set_aside("BP-02");
    let plate = plate_line(&mut shop);
    assert!(!plate.reason.contains("Set aside"), "{}", plate.reason);
}

/// Of another make that does for a short one what lies at the place goes first.
#[test]
fn of_another_make_the_pads_at_the_place_make_up_the_number() {
    let mut shop = Shop::stocked();
    shop.say(Command::CreateMake {
        make: make("other-coarse-foam-150", foam(Grade::Coarse, 150)),
    });
    shop.receive("other-coarse-foam-150", 8);
    shop.lose("P-01 P-02 P-03 P-04 P-05 P-06");
    shop.move_to("P-13 P-14 P-15 P-16", "van-a");
    assert_eq!(cut(&mut shop), tags_of("P-07 P-17 P-18 P-19 P-20"));
}

/// Source: by hand, every job being ordinary: of makes with a rating alone each wears by itself, 1 / (1 + Σx³);
/// 77 sections between five are 16 each, of 130 and of the 185 that the policy gives the other make.
#[test]
fn pads_of_another_make_are_weighed_by_their_own_lives() {
    let mut shop = Shop::stocked();
    shop.set_policy(PolicyKey::SeverityLogSdPermille, 0);
    shop.say(Command::CreateMake {
        make: make("other-coarse-foam-150", foam(Grade::Coarse, 150)),
    });
    shop.receive("other-coarse-foam-150", 8);
    shop.lose("P-01 P-02 P-03 P-04 P-05 P-06");
    let mixed = thursday_line(&mut shop, LineKind::Pad, Some("cut"));
    let (own, other) = ((16.0_f64 / 130.0).powi(3), (16.0_f64 / 185.0).powi(3));
    let expected = 1.0 / (1.0 + own) / (1.0 + 4.0 * other);
    let chance = mixed.chance.unwrap();
    assert!((chance - expected).abs() < 1e-6, "{chance} {expected}");
}

/// Ten pads for two steps of five each: none goes along to the first as a spare, however much that helped.
#[test]
fn a_spare_is_no_pad_that_a_later_step_needs() {
    let mut shop = Shop::stocked();
    shop.receive("coarse-foam-150", 3);
    shop.set_policy(PolicyKey::CarryTargetPermille, 999);
    cut_twice(&mut shop);
    let checks = check(&shop, &["thursday"]);
    for name in ["first", "second"] {
        let pads = line(&checks[0], LineKind::Pad, Some(name));
        assert_eq!(
            (pads.need, pads.short, pads.picks.len()),
            (5, 0, 5),
            "{name}"
        );
    }
}

/// Two plates that cannot be taken, the make of the first coming after that of the second.
fn two_plates(diameter_mm: i64) -> Shop {
    let mut shop = Shop::stocked();
    shop.lose("BP-01");
    with_plate(&mut shop, "second-plate", diameter_mm, Some(12_000));
    with_plate(&mut shop, "first-plate", diameter_mm, Some(12_000));
    shop
}

/// A person looks for them by what is on them, whatever their makes.
#[test]
fn plates_that_cannot_be_taken_are_named_in_the_order_of_their_tags() {
    let wide = plate_line(&mut two_plates(151));
    assert!(says(&wide, "BP-02 and BP-03 are 151 mm wide"), "{wide:?}");
    let mut shop = two_plates(135);
    shop.set_aside("BP-02 BP-03");
    let aside = plate_line(&mut shop);
    assert!(says(&aside, "Set aside: BP-02 and BP-03."), "{aside:?}");
    let mut shop = two_plates(135);
    shop.move_to("BP-02 BP-03", "van-a");
    shop.go_to("2026-03-05 07:50");
    let away = plate_line(&mut shop);
    assert!(
        says(&away, "BP-02 and BP-03 at van-a: too late"),
        "{away:?}"
    );
}
