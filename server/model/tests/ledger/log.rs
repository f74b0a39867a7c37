//! Logging a job: as planned in one command, and with corrections.

use fettlebook_model::command::{JobLog, LiquidAmount, LooseLog, PadUse, Said, Weighing};
use fettlebook_model::deed::Deed;
use fettlebook_model::job::JobState;
use fettlebook_model::kit::Readiness;
use fettlebook_model::pick::damage_of;
use fettlebook_model::{Command, Reason};
use fettlebook_quantity::{Count, Mass, Volume};

use crate::shop::{Shop, done, id, step, tag};

fn worked() -> Shop {
    let mut shop = Shop::stocked();
    shop.book_saloon("thursday", "2026-03-05 08:00");
    shop.go_to("2026-03-05 15:00");
    shop
}

fn log_of(change: impl FnOnce(&mut JobLog)) -> Command {
    let mut log = JobLog {
        job: Some(id("thursday")),
        ..JobLog::default()
    };
    change(&mut log);
    Command::LogJob(Box::new(log))
}

/// Source: MODELS §5 by hand: at the reference pressure, throw, speed and stroke, one section is one
/// reference section, so 77 sections on five pads are 16, 16, 15, 15, 15.
#[test]
fn logging_as_planned_spreads_the_sections_over_the_pads() {
    let mut shop = worked();
    shop.log("thursday");
    let worn: Vec<i64> = ["P-01", "P-02", "P-03", "P-04", "P-05", "P-06"]
        .iter()
        .map(|p| shop.work(p))
        .collect();
    assert_eq!(
        worn,
        [
            16_000_000, 16_000_000, 15_000_000, 15_000_000, 15_000_000, 0
        ]
    );
    let pad = shop.book.piece(tag("P-01")).unwrap();
    assert_eq!(pad.readiness, Readiness::Soiled);
    assert!((damage_of(&shop.book, pad).unwrap() - 16.0 / 130.0).abs() < 1e-12);
    assert_eq!(shop.left_ul("B-01"), 1_000_000 - 61_500);
    assert_eq!(shop.left_ul("B-02"), 500_000 - 60_750);
    let towels = shop.book.piece(tag("T-01")).unwrap();
    assert_eq!(
        (
            towels.bundle().unwrap().clean_count,
            towels.bundle().unwrap().soiled_count
        ),
        (4, 20)
    );
    assert_eq!(
        shop.book.piece(tag("S-01")).unwrap().sundry_left(),
        Some(48)
    );
    assert!(matches!(
        shop.book.job(&id("thursday")).unwrap().state,
        JobState::Done(_)
    ));
}

#[test]
fn a_job_is_logged_once() {
    let mut shop = worked();
    shop.log("thursday");
    let again = shop.try_say(log_of(|_| {})).unwrap_err();
    assert_eq!(again.reason, Reason::JobState);
    assert!(again.what.contains("logged already"), "{}", again.what);
}

#[test]
fn a_torn_pad_leaves_the_kit_and_the_spare_takes_the_rest() {
    let mut shop = worked();
    shop.say(log_of(|log| {
        log.pads = vec![
            PadUse {
                tag: tag("P-01"),
                section_count: Some(5),
                found: Some("torn".parse().unwrap()),
                aside: None,
            },
            PadUse {
                tag: tag("P-06"),
                section_count: None,
                found: None,
                aside: None,
            },
        ];
    }));
    assert_eq!(shop.work("P-01"), 5_000_000);
    assert!(shop.book.piece(tag("P-01")).unwrap().is_binned());
    let all: i64 = ["P-01", "P-02", "P-03", "P-04", "P-05", "P-06"]
        .iter()
        .map(|p| shop.work(p))
        .sum();
    assert_eq!(all, 77_000_000);
    assert_eq!(shop.work("P-06"), 14_000_000);
}

#[test]
fn a_swap_puts_the_work_on_the_other_pad() {
    let mut shop = worked();
    shop.say(log_of(|log| log.swaps = vec![(tag("P-02"), tag("P-07"))]));
    assert_eq!((shop.work("P-02"), shop.work("P-07")), (0, 16_000_000));
    let mut shop = worked();
    let stray = shop
        .try_say(log_of(|log| log.swaps = vec![(tag("P-07"), tag("P-06"))]))
        .unwrap_err();
    assert_eq!(stray.reason, Reason::NoPick);
    assert!(stray.what.contains("P-01, P-02"), "{}", stray.what);
}

#[test]
fn panels_left_out_and_towels_dropped_are_followed() {
    let mut shop = worked();
    shop.say(log_of(|log| {
        log.left_out = vec!["roof".parse().unwrap()];
        log.dropped_towel_count = 2;
    }));
    let cut: i64 = (1..=7).map(|n| shop.work(&format!("P-{n:02}"))).sum();
    assert_eq!(cut, (77 - 8) * 1_000_000);
    let soiled = shop
        .book
        .piece(tag("T-01"))
        .unwrap()
        .bundle()
        .unwrap()
        .soiled_count;
    // 2 · 69 sections at a cell each, 8 cells a towel: 18, and the 2 that fell.
    assert_eq!(soiled, 20);
}

#[test]
fn what_was_said_of_a_bottle_replaces_the_plan() {
    let mut shop = worked();
    shop.say(log_of(|log| {
        log.bottles = vec![
            (tag("B-01"), LiquidAmount::Volume(Volume::from_ul(35_000))),
            (tag("B-02"), LiquidAmount::Dots(Count::new(8))),
        ];
    }));
    assert_eq!(
        (shop.left_ul("B-01"), shop.left_ul("B-02")),
        (965_000, 498_000)
    );
}

/// Source: arithmetic of MODELS §3: (1100 g − 60 g) / 1.10 g/mL = 945.455 mL.
#[test]
fn a_weigh_in_after_the_job_settles_the_level() {
    let mut shop = worked();
    let entry = shop.say(log_of(|log| {
        log.weighings = vec![Weighing {
            tag: tag("B-01"),
            gross_mg: Mass::from_mg(1_100_000),
        }];
    }));
    assert!(entry.flags.is_empty());
    assert_eq!(shop.left_ul("B-01"), 945_455);
}

#[test]
fn what_contradicts_the_book_is_taken_in_and_flagged() {
    let mut shop = worked();
    shop.say(Command::Bin {
        said: done("2026-03-05 07:00"),
        tags: vec![tag("P-07")],
        reason: "lost".parse().unwrap(),
        count: None,
    });
    let entry = shop.say(log_of(|log| {
        log.pads = vec![PadUse {
            tag: tag("P-07"),
            section_count: None,
            found: None,
            aside: None,
        }];
        log.bundles = vec![(tag("T-01"), 30)];
    }));
    let said: Vec<&str> = entry.flags.iter().map(|flag| flag.text.as_str()).collect();
    assert!(said[0].contains("P-07 was binned"), "{said:?}");
    assert!(said[1].contains("24 clean towels"), "{said:?}");
    assert!(shop.work("P-07") > 0);
    assert!(shop.book.piece(tag("T-01")).unwrap().needs_count);
}

#[test]
fn a_step_without_a_ready_pad_asks_which_worked() {
    let mut shop = worked();
    let coarse: Vec<_> = (1..=7).map(|n| tag(&format!("P-{n:02}"))).collect();
    shop.say(Command::SetAside {
        said: done("2026-03-05 07:00"),
        tags: coarse,
        reason: "inspect".parse().unwrap(),
    });
    assert_eq!(
        shop.try_say(log_of(|_| {})).unwrap_err().reason,
        Reason::NoPick
    );
    let one = PadUse {
        tag: tag("P-01"),
        section_count: None,
        found: None,
        aside: None,
    };
    shop.say(log_of(|log| log.pads = vec![one]));
    assert_eq!(shop.work("P-01"), 77_000_000);
}

#[test]
fn a_loose_use_wears_and_pours_too() {
    let mut shop = worked();
    shop.say(Command::LogLoose(Box::new(LooseLog {
        said: Said::default(),
        step: Some(step("touch-up", "coarse-foam-150", "coarse-compound-1l")),
        machine: Some(tag("M-01")),
        plate: Some(tag("BP-01")),
        section_count: 2,
        pads: vec![PadUse {
            tag: tag("P-03"),
            section_count: None,
            found: None,
            aside: None,
        }],
        bottles: vec![(tag("B-01"), LiquidAmount::Dots(Count::new(9)))],
        bundles: vec![(tag("T-01"), 1)],
        sundries: Vec::new(),
        weighings: Vec::new(),
    })));
    assert_eq!(
        (shop.work("P-03"), shop.left_ul("B-01")),
        (2_000_000, 997_750)
    );
    let machine = shop
        .entries
        .last()
        .unwrap()
        .deeds
        .iter()
        .find_map(|deed| match deed {
            Deed::MachineUsed { time_ms, .. } => Some(*time_ms),
            _ => None,
        });
    assert_eq!(machine, Some(288_000));
}
