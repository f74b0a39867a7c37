//! Logging a job as planned, and a use outside any job.

use fettlebook_model::command::{JobLog, LiquidAmount, PadUse};
use fettlebook_model::damage::{damage_of, wear_band};
use fettlebook_model::deed::Deed;
use fettlebook_model::job::{JobState, Step};
use fettlebook_model::kit::{Readiness, State};
use fettlebook_model::wear::{Band, BinReason};
use fettlebook_model::{Command, Reason};
use fettlebook_quantity::Count;

use crate::shop::{Shop, done, id, pad_use, step, tag};

/// Source: Archard's law by hand: at the reference pressure, throw, speed and stroke, one section is one
/// reference section, so 77 sections on five pads are 16, 16, 15, 15, 15.
#[test]
fn logging_as_planned_spreads_the_sections_over_the_pads() {
    let mut shop = Shop::worked();
    shop.log("thursday");
    let worn = ["P-01", "P-02", "P-03", "P-04", "P-05", "P-06"].map(|pad| shop.work(pad));
    assert_eq!(
        worn,
        [
            16_000_000, 16_000_000, 15_000_000, 15_000_000, 15_000_000, 0
        ]
    );
    let pad = shop.piece("P-01");
    assert_eq!(pad.readiness, Readiness::Soiled);
    assert!((damage_of(&shop.book, pad).unwrap() - 16.0 / 130.0).abs() < 1e-12);
}

#[test]
fn logging_as_planned_pours_wipes_and_closes_the_job() {
    let mut shop = Shop::worked();
    shop.log("thursday");
    assert_eq!(shop.left_ul("B-01"), 1_000_000 - 61_500);
    assert_eq!(shop.left_ul("B-02"), 500_000 - 60_750);
    assert_eq!(shop.towels("T-01"), (18, 6));
    assert_eq!(shop.piece("S-01").sundry_left(), Some(48));
    let job = shop.book.job(&id("thursday")).unwrap();
    assert_eq!(job.state, JobState::Done(shop.now));
    assert_eq!(shop.book.booked_job_count(), 0);
}

/// Source: geometry by hand: 77 sections of 144 s on each of two steps; five pads and four.
#[test]
fn machine_and_plate_run_for_the_time_on_paint() {
    let mut shop = Shop::worked();
    shop.log("thursday");
    let ran: Vec<(i64, Option<i64>)> = shop
        .entries
        .last()
        .unwrap()
        .deeds
        .iter()
        .filter_map(|deed| match deed {
            Deed::MachineUsed { time_ms, .. } => Some((*time_ms, None)),
            Deed::PlateUsed {
                time_ms,
                change_count,
                ..
            } => Some((*time_ms, Some(*change_count))),
            _ => None,
        })
        .collect();
    let time = 77 * 144_000;
    assert_eq!(
        ran,
        [(time, None), (time, Some(5)), (time, None), (time, Some(4))]
    );
}

#[test]
fn a_job_is_logged_once() {
    let mut shop = Shop::worked();
    shop.log("thursday");
    let again = shop.log_as("thursday", |_| {}).unwrap_err();
    assert_eq!(again.reason, Reason::JobState);
    assert!(again.what.contains("logged already"), "{}", again.what);
}

#[test]
fn a_step_without_a_ready_pad_asks_which_worked() {
    let mut shop = Shop::worked();
    shop.now = crate::shop::at("2026-03-05 07:00");
    shop.set_aside("P-01 P-02 P-03 P-04 P-05 P-06 P-07");
    shop.go_to("2026-03-05 15:00");
    let refused = shop.log_as("thursday", |_| {}).unwrap_err();
    assert_eq!(
        (refused.reason, refused.field.as_str()),
        (Reason::NoPick, "pads")
    );
    shop.log_as("thursday", |log| log.pads = vec![pad_use("P-01")])
        .unwrap();
    assert_eq!(shop.work("P-01"), 77_000_000);
}

#[test]
fn what_was_measured_or_counted_after_the_job_stands_when_it_is_logged_late() {
    let mut shop = Shop::worked();
    shop.count("B-01", 700_000);
    shop.count("S-01", 30);
    let mut late = JobLog {
        said: done("2026-03-05 14:00"),
        job: Some(id("thursday")),
        ..JobLog::default()
    };
    late.said.note = "logged late".into();
    shop.say(Command::LogJob(Box::new(late)));
    assert_eq!(shop.left_ul("B-01"), 700_000);
    assert_eq!(shop.piece("S-01").sundry_left(), Some(30));
}

#[test]
fn towels_that_have_dried_since_their_wash_are_used_as_clean_ones() {
    let mut shop = Shop::stocked();
    shop.count_towels("T-01", 2, 22);
    shop.wash("T-01");
    shop.book_saloon("thursday", "2026-03-06 08:00");
    shop.go_to("2026-03-06 15:00");
    assert!(shop.log("thursday").flags.is_empty());
    assert_eq!(shop.towels("T-01"), (18, 6));
}

#[test]
fn kit_washed_since_the_job_was_clean_before_it() {
    let mut shop = Shop::worked();
    shop.wash("P-01");
    shop.log("thursday");
    assert_eq!(shop.work("P-01"), 16_000_000);
}

#[test]
fn a_plate_the_machine_would_overrun_is_never_written_as_used() {
    let mut shop = Shop::worked();
    shop.edit_orbital(|orbital| orbital.max_speed_per_min = 12_001);
    let entry = shop.log("thursday");
    assert!(
        !entry
            .deeds
            .iter()
            .any(|deed| matches!(deed, Deed::PlateUsed { .. }))
    );
}

#[test]
fn a_loose_use_wears_and_pours_too() {
    let mut shop = Shop::worked();
    let entry = shop
        .log_loose(|loose| {
            loose.step = Some(step("touch-up", "coarse-foam-150", "coarse-compound-1l"));
            (loose.machine, loose.plate) = (Some(tag("M-01")), Some(tag("BP-01")));
            loose.section_count = 2;
            loose.pads = vec![pad_use("P-03")];
            loose.bottles = vec![(tag("B-01"), LiquidAmount::Dots(Count::new(9)))];
            loose.bundles = vec![(tag("T-01"), 1)];
            loose.sundries = vec![(tag("S-01"), 3)];
        })
        .unwrap();
    assert!(entry.flags.is_empty());
    let machine = entry.deeds.iter().find_map(|deed| match deed {
        Deed::MachineUsed { time_ms, .. } => Some(*time_ms),
        _ => None,
    });
    assert_eq!(machine, Some(288_000));
    assert_eq!(shop.work("P-03"), 2_000_000);
    assert_eq!(shop.left_ul("B-01"), 997_750);
    assert_eq!(shop.towels("T-01"), (23, 1));
    assert_eq!(shop.piece("S-01").sundry_left(), Some(47));
}

#[test]
fn a_loose_use_of_nothing_or_of_pads_without_how_is_refused() {
    let mut shop = Shop::worked();
    let nothing = shop.log_loose(|_| {}).unwrap_err();
    assert_eq!(nothing.field, "loose");
    let how = shop
        .log_loose(|loose| loose.pads = vec![pad_use("P-03")])
        .unwrap_err();
    assert_eq!(
        (how.reason, how.field.as_str()),
        (Reason::FieldMissing, "loose.step")
    );
    let stray = shop
        .log_loose(|loose| {
            loose.step = Some(step("touch-up", "coarse-foam-150", "coarse-compound-1l"));
            loose.machine = Some(tag("P-01"));
            loose.section_count = 2;
            loose.pads = vec![pad_use("P-03")];
        })
        .unwrap_err();
    assert_eq!(
        (stray.reason, stray.field.as_str()),
        (Reason::WrongSort, "loose.machine")
    );
}

#[test]
fn a_loose_use_at_a_speed_that_the_machine_cannot_have_is_refused() {
    let mut shop = Shop::worked();
    let mut work_at = |speed_per_min| {
        let done = shop.log_loose(|loose| {
            let how = step("touch-up", "coarse-foam-150", "coarse-compound-1l");
            loose.step = Some(Step {
                speed_per_min: Some(speed_per_min),
                ..how
            });
            loose.section_count = 2;
            loose.pads = vec![pad_use("P-03")];
        });
        done.map(|entry| entry.seq)
    };
    for speed_per_min in [i64::MAX, i64::MIN, -1, 0, 99, 5_001] {
        let said = work_at(speed_per_min).unwrap_err();
        assert_eq!(
            (said.reason, said.field.as_str()),
            (Reason::QuantityInvalid, "loose.step.speed_per_min"),
            "{speed_per_min}"
        );
    }
    work_at(4_500).unwrap();
}

#[test]
fn two_jobs_share_no_pads_when_the_first_is_not_washed() {
    let mut shop = Shop::worked();
    shop.log("thursday");
    shop.book_saloon("evening", "2026-03-05 16:00");
    shop.go_to("2026-03-05 23:00");
    shop.log("evening");
    assert_eq!(
        (shop.work("P-01"), shop.work("P-06")),
        (16_000_000, 39_000_000)
    );
}

#[test]
fn a_pad_found_torn_is_spent_whatever_its_damage() {
    let mut shop = Shop::worked();
    let logged = shop.log_as("thursday", |log| {
        let torn = PadUse {
            found: Some(BinReason::Torn),
            ..pad_use("P-01")
        };
        log.pads = vec![torn];
    });
    assert!(logged.is_ok());
    let pad = shop.piece("P-01");
    assert_eq!(wear_band(&shop.book, pad), Some(Band::Spent));
    assert_eq!(wear_band(&shop.book, shop.piece("P-02")), Some(Band::Sound));
}

/// How long the machine of the shop has run, s.
fn ran_s(shop: &Shop) -> i64 {
    match &shop.piece("M-01").state {
        State::Machine(machine) => machine.run_time_ms / 1_000,
        other => panic!("{other:?}"),
    }
}

/// Reckoned by hand: wear goes by time (Archard), so that twice the time is twice the 16 sections of P-01.
#[test]
fn machines_ran_as_long_as_it_is_said_and_pads_wear_by_it() {
    let mut planned = Shop::worked();
    planned.log("thursday");
    let planned_s = ran_s(&planned);
    let mut real = Shop::worked();
    let entry = real
        .log_as("thursday", |log| log.machine_time_s = Some(2 * planned_s))
        .unwrap();
    assert!(entry.flags.is_empty(), "{:?}", entry.flags);
    assert!((ran_s(&real) - 2 * planned_s).abs() <= 1);
    let off = (real.work("P-01") - 32_000_000).abs();
    assert!(off <= 32_000, "{off}");

    for (seconds, is_odd) in [
        (5 * planned_s, false),
        (6 * planned_s, true),
        (planned_s / 4, false),
        (planned_s / 6, true),
    ] {
        let mut shop = Shop::worked();
        let entry = shop.log_as("thursday", |log| log.machine_time_s = Some(seconds));
        let flags = &entry.unwrap().flags;
        assert_eq!(flags.len(), usize::from(is_odd), "{flags:?}");
        assert!(
            flags.iter().all(|flag| flag.text.contains("far from")),
            "{flags:?}"
        );
    }
}
