//! What a job did cost, and why that is not what was expected.

use fettlebook_model::command::{JobLog, PadUse, Said};
use fettlebook_model::job::Job;
use fettlebook_model::make::{Figures, SundryFigures, Unit};
use fettlebook_model::panel::Panel;
use fettlebook_model::plan::plan_job;
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::{Command, Entry};
use fettlebook_quantity::Mass;

use super::{line, priced, sheet};
use crate::shop::{Shop, eur, id, make, offer, pad_use, saloon_job, tag};

const COMPOUND: &str = "coarse-compound-1l";

/// A weigh-in at which so much compound is left: 60 g of bottle, 1.1 g/mL.
fn at_level(left_ul: i64) -> fettlebook_model::command::Weighing {
    fettlebook_model::command::Weighing {
        tag: tag("B-01"),
        gross_mg: Mass::from_mg(60_000 + left_ul * 11 / 10),
    }
}

fn weigh(shop: &mut Shop, left_ul: i64) {
    shop.say(Command::Weigh {
        said: Said::default(),
        weighings: vec![at_level(left_ul)],
    });
}

/// Logs Thursday at three in the afternoon, with more said of it.
fn log(shop: &mut Shop, more: impl FnOnce(&mut JobLog)) -> Entry {
    shop.go_to("2026-03-05 15:00");
    shop.log_as("thursday", more).unwrap().clone()
}

/// What a make did cost on a job, and why that differs.
fn told(shop: &Shop, job: &str, make: &str) -> (String, String) {
    let sheet = sheet(shop, job);
    let line = line(&sheet, make);
    (
        line.actual.unwrap().amount.to_string(),
        line.difference.clone(),
    )
}

fn said(amount: &str, difference: &str) -> (String, String) {
    (amount.to_owned(), difference.to_owned())
}

#[test]
fn a_job_that_went_as_planned_cost_what_was_expected() {
    let mut shop = priced();
    let before = sheet(&shop, "thursday");
    log(&mut shop, |_| {});
    let after = sheet(&shop, "thursday");
    assert_eq!(after.actual, Some(before.typical));
    for (was, is) in before.lines.iter().zip(&after.lines) {
        assert_eq!(is.actual, Some(was.typical), "{}", was.text);
        assert_eq!(is.difference, "");
        let expected = fettlebook_model::job_cost::CostLine {
            actual: None,
            ..is.clone()
        };
        assert_eq!(&expected, was);
    }
}

/// Source: by hand: 73.8 mL are gone, 12.3 more than planned; 1.81 at 24.50 a litre.
#[test]
fn a_bottle_weighed_after_the_job_says_what_it_took_and_teaches_only_the_next_one() {
    let mut shop = priced();
    log(&mut shop, |log| {
        log.weighings = vec![at_level(1_000_000 - 73_800)]
    });
    let expected = line(&sheet(&shop, "thursday"), COMPOUND).typical;
    assert_eq!(expected, eur("1.51"));
    let more = said("1.81", "12.3 mL more than expected.");
    assert_eq!(told(&shop, "thursday", COMPOUND), more);
    // The next job is expected to take 64.575 mL.
    shop.book_saloon("friday", "2026-03-06 18:00");
    let next = line(&sheet(&shop, "friday"), COMPOUND).typical;
    assert_eq!(next, eur("1.58"));
    assert_eq!(told(&shop, "thursday", COMPOUND), more);
}

/// Source: by hand: twice what both were planned to take is gone, so each took twice its plan.
#[test]
fn jobs_that_share_a_weighing_cost_their_share_by_plan() {
    let mut shop = priced();
    let second = Job {
        left_out: vec![Panel::Roof, Panel::Boot],
        ..saloon_job("second", "2026-03-06 18:00")
    };
    let plan = plan_job(&shop.book, &second).unwrap();
    let small_ul = plan.steps[0].volume.ul();
    assert!(small_ul < 61_500);
    shop.say(Command::BookJob { job: second });
    log(&mut shop, |_| {});
    shop.wash("P-01 P-02 P-03 P-04 P-05 P-08 P-09 P-10 P-11 T-01");
    shop.go_to("2026-03-06 23:00");
    shop.log("second");
    weigh(&mut shop, 1_000_000 - 2 * (61_500 + small_ul));
    // 123 mL at 24.50 a litre.
    let (cost, why) = told(&shop, "thursday", COMPOUND);
    assert_eq!(
        (cost.as_str(), why.as_str()),
        ("3.01", "61.5 mL more than expected.")
    );
    let cents = (2 * small_ul * 245 + 50_000) / 100_000;
    let (cost, _) = told(&shop, "second", COMPOUND);
    assert_eq!(cost, format!("{}.{:02}", cents / 100, cents % 100));
}

/// A level that was only read off ends what a weighing can tell of the jobs before it.
#[test]
fn a_weighing_tells_nothing_of_a_job_before_its_stretch() {
    let mut shop = priced();
    log(&mut shop, |_| {});
    shop.wash("P-01 P-02 P-03 P-04 P-05 P-08 P-09 P-10 P-11 T-01");
    shop.go_to("2026-03-07 07:00");
    shop.count("B-01", 900_000);
    shop.go_to("2026-03-07 07:30");
    weigh(&mut shop, 900_000);
    shop.book_saloon("saturday", "2026-03-07 08:00");
    shop.go_to("2026-03-07 15:00");
    shop.log("saturday");
    weigh(&mut shop, 900_000 - 123_000);
    assert_eq!(told(&shop, "thursday", COMPOUND), said("1.51", ""));
    let (cost, _) = told(&shop, "saturday", COMPOUND);
    assert_eq!(cost, "3.01");
}

/// Source: by hand: the torn pad costs the one life it had; the others 61/130 and four washes of 20.
#[test]
fn a_pad_torn_in_the_job_costs_it_the_rest_of_its_life_and_not_a_wash_more() {
    let mut shop = priced();
    log(&mut shop, |log| {
        log.pads = vec![PadUse {
            section_count: Some(16),
            found: Some("torn".parse().unwrap()),
            ..pad_use("P-01")
        }];
    });
    // (1 + 0.669231) × 9.45; lost are 114/130.
    let why = "5 % of a life less than expected. P-01 wore out early: 88 % of a life is lost.";
    assert_eq!(
        told(&shop, "thursday", "coarse-foam-150"),
        said("15.77", why)
    );
}

/// Source: by hand: 140 reference sections of the 130 it is rated for are a whole life and more.
#[test]
fn a_pad_past_its_rated_life_has_none_to_lose() {
    let mut shop = priced();
    shop.import(vec![crate::shop::noted(
        "P-20",
        "coarse-foam-150",
        140_000_000,
    )]);
    log(&mut shop, |log| {
        log.pads = vec![PadUse {
            section_count: Some(16),
            found: Some("torn".parse().unwrap()),
            ..pad_use("P-20")
        }];
    });
    // 77/130 and four washes of 20, at 9.45.
    let why = "5 % of a life less than expected.";
    assert_eq!(
        told(&shop, "thursday", "coarse-foam-150"),
        said("7.49", why)
    );
}

#[test]
fn a_pad_that_was_lost_did_not_wear_out_early() {
    let mut shop = priced();
    log(&mut shop, |log| {
        log.pads = vec![PadUse {
            found: Some("lost".parse().unwrap()),
            ..pad_use("P-01")
        }];
    });
    let why = "5 % of a life less than expected.";
    assert_eq!(
        told(&shop, "thursday", "coarse-foam-150"),
        said("7.49", why)
    );
}

/// Source: by hand: 8 towels of 2.50/50 and 0.73/20.
#[test]
fn towels_that_fell_are_counted() {
    let mut shop = priced();
    log(&mut shop, |log| log.dropped_towel_count = 2);
    assert_eq!(
        told(&shop, "thursday", "edgeless-towel-400g"),
        said("0.69", "2 towels more than expected.")
    );
}

/// Source: by hand: 21 towels of a third of 0.25 for fifty washes are three and a half cents, which go up.
#[test]
fn a_towel_of_a_pack_is_not_rounded_by_itself() {
    let mut shop = priced();
    shop.edit_supplier("tern-quay", |supplier| {
        supplier.offers = vec![offer("edgeless-towel-400g", 3, &[(1, "0.25")])];
    })
    .unwrap();
    for key in [
        PolicyKey::WashEnergyWh,
        PolicyKey::WashWaterMl,
        PolicyKey::WashDetergentMl,
    ] {
        shop.set_policy(key, 0);
    }
    log(&mut shop, |log| log.dropped_towel_count = 15);
    let (cost, _) = told(&shop, "thursday", "edgeless-towel-400g");
    assert_eq!(cost, "0.04");
}

/// Source: by hand: three brushes of ten at 5.00.
#[test]
fn what_nobody_expected_has_a_line_of_its_own() {
    let mut shop = priced();
    let brushes = Figures::Sundry(SundryFigures {
        unit: Unit::Piece,
        pack_quantity: 10,
    });
    shop.say(Command::CreateMake {
        make: make("detail-brushes", brushes),
    });
    shop.price("detail-brushes", "5.00", 1);
    shop.receive("detail-brushes", 1);
    log(&mut shop, |log| log.sundries = vec![(tag("S-02"), 3)]);
    let sheet = sheet(&shop, "thursday");
    let brushes = line(&sheet, "detail-brushes");
    assert_eq!(brushes.text, "detail brushes, 0");
    assert_eq!((brushes.low, brushes.high), (eur("0.00"), eur("0.00")));
    assert_eq!(brushes.actual, Some(eur("1.50")));
    assert_eq!(brushes.difference, "3 more than expected.");
    // The gloves were used as planned all the same.
    assert_eq!(line(&sheet, "nitrile-gloves").actual, Some(eur("0.36")));
}

#[test]
fn liquid_that_was_not_used_is_said_to_be_less() {
    let mut shop = priced();
    log(&mut shop, |log| {
        let volume = fettlebook_quantity::Volume::from_ul(50_000);
        log.bottles = vec![(
            tag("B-01"),
            fettlebook_model::command::LiquidAmount::Volume(volume),
        )];
    });
    assert_eq!(
        told(&shop, "thursday", COMPOUND),
        said("1.23", "11.5 mL less than expected.")
    );
}

#[test]
fn a_log_that_was_reversed_or_a_job_called_off_cost_nothing_yet() {
    let mut shop = priced();
    let before = sheet(&shop, "thursday");
    let logged = log(&mut shop, |_| {}).seq;
    shop.reverse(logged).unwrap();
    assert_eq!(sheet(&shop, "thursday"), before);
    shop.say(Command::CallOff {
        said: Said::default(),
        job: id("thursday"),
    });
    assert_eq!(sheet(&shop, "thursday").actual, None);
}

#[test]
fn a_job_logged_again_is_costed_once() {
    let mut shop = priced();
    let first = log(&mut shop, |log| log.dropped_towel_count = 4).seq;
    shop.reverse(first).unwrap();
    log(&mut shop, |_| {});
    assert_eq!(
        told(&shop, "thursday", "edgeless-towel-400g"),
        said("0.52", "")
    );
}
