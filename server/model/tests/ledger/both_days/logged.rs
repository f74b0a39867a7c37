//! Each day has a log of its own: what it records, what it may not say twice, and how it is taken back.

use fettlebook_model::job::{Job, JobState};
use fettlebook_model::kit::Readiness;
use fettlebook_model::{Command, Deed, Reason, Refusal, Seq};

use super::{PADS, job, life, log_first, saturday};
use crate::kept::kept;
use crate::shop::{Shop, at, flags, id, pad_use, step, tag};

/// Logged in its evening, washed, and the rest logged after the second day: all stands in order.
#[test]
fn the_log_of_the_first_day_leaves_the_job_booked() {
    let mut shop = saturday();
    shop.go_to("2026-03-05 15:00");
    log_first(&mut shop);
    let entry = shop.entries.last().unwrap().clone();
    assert_eq!(flags(&entry), [""; 0]);
    assert_eq!(job(&shop).state, JobState::Booked);
    assert_eq!(
        job(&shop).first_day_done.as_ref().unwrap().at,
        at("2026-03-05 15:00")
    );
    assert_eq!(life(&shop, "P-01"), (1, 0));
    assert_eq!(shop.piece("P-01").readiness, Readiness::Soiled);
    shop.go_to("2026-03-05 18:00");
    assert_eq!(flags(shop.wash(&PADS.join(" "))), [""; 0]);
    shop.go_to("2026-03-07 15:00");
    let rest = shop.log("saloon").clone();
    assert_eq!(flags(&rest), [""; 0]);
    assert_eq!(job(&shop).state, JobState::Done(at("2026-03-07 15:00")));
    for pad in PADS {
        assert_eq!(life(&shop, pad), (2, 1), "{pad}");
        assert_eq!(shop.piece(pad).readiness, Readiness::Soiled);
    }
}

/// A wash that nobody told: they worked all the same, and the book says what it had.
#[test]
fn a_wash_that_nobody_told_is_asked_for() {
    let mut shop = saturday();
    shop.go_to("2026-03-05 15:00");
    log_first(&mut shop);
    shop.go_to("2026-03-07 15:00");
    let entry = shop.log("saloon").clone();
    let told = PADS.map(|pad| format!("{pad} was soiled in the book."));
    assert_eq!(flags(&entry), told);
    assert_eq!(life(&shop, "P-01"), (2, 0));
    // Of one that was soiled before the job it is not taken for granted.
    let mut shop = saturday();
    shop.receive("coarse-foam-150", 1);
    shop.log_loose(|log| {
        log.pads = vec![pad_use("P-06")];
        log.step = Some(step("loose", "coarse-foam-150", "coarse-compound-1l"));
        log.section_count = 1;
    })
    .unwrap();
    shop.go_to("2026-03-05 15:00");
    log_first(&mut shop);
    shop.go_to("2026-03-07 15:00");
    shop.log("saloon");
    assert_eq!(life(&shop, "P-06"), (1, 0));
}

/// Both logs together use what one log of the whole job would.
#[test]
fn two_logs_use_what_one_does() {
    let mut halves = saturday();
    let mut whole = halves.clone();
    halves.go_to("2026-03-05 15:00");
    log_first(&mut halves);
    halves.go_to("2026-03-05 18:00");
    halves.wash(&PADS.join(" "));
    for shop in [&mut halves, &mut whole] {
        shop.go_to("2026-03-07 15:00");
        shop.log("saloon");
    }
    for pad in PADS {
        assert_eq!(halves.work(pad), whole.work(pad));
    }
    assert_eq!(halves.left_ul("B-01"), whole.left_ul("B-01"));
    assert_eq!(halves.towels("T-01"), whole.towels("T-01"));
}

/// Nobody logged the first day: one log after the second has the pads in both steps, once each.
#[test]
fn without_a_log_of_the_first_day_the_log_tells_of_both() {
    let mut shop = saturday();
    shop.go_to("2026-03-07 15:00");
    let entry = shop.log("saloon").clone();
    let steps = |pad: &str| {
        let used = entry.deeds.iter().filter_map(|deed| match deed {
            Deed::PadUsed {
                tag: used, within, ..
            } if *used == tag(pad) => within.step.clone(),
            _ => None,
        });
        used.map(|step| step.to_string()).collect::<Vec<_>>()
    };
    for pad in PADS {
        assert_eq!(steps(pad), ["cut", "again"], "{pad}");
        assert_eq!(life(&shop, pad), (2, 0), "{pad}");
    }
    assert_eq!(flags(&entry), [""; 0]);
}

#[test]
fn an_undo_takes_back_one_day_after_the_other() {
    let mut shop = saturday();
    shop.go_to("2026-03-05 15:00");
    let booked = job(&shop).clone();
    log_first(&mut shop);
    let first = shop.book.head();
    let begun = job(&shop).clone();
    shop.go_to("2026-03-07 15:00");
    let rest = shop
        .log_as("saloon", |log| log.pads = vec![pad_use("P-01")])
        .unwrap()
        .seq;
    let stands = |shop: &Shop| Job {
        last_seq: Seq::default(),
        ..job(shop).clone()
    };
    let was = |job: Job| Job {
        last_seq: Seq::default(),
        ..job
    };
    shop.reverse(rest).unwrap();
    assert_eq!(stands(&shop), was(begun));
    shop.reverse(first).unwrap();
    assert_eq!(stands(&shop), was(booked));
    assert_eq!(life(&shop, "P-01"), (0, 0));
}

#[test]
fn a_first_day_is_logged_once_and_of_two_only() {
    let mut shop = saturday();
    shop.book_saloon("one-day", "2026-03-05 08:00");
    shop.go_to("2026-03-05 15:00");
    let refused = shop
        .log_as("one-day", |log| log.first_day = true)
        .unwrap_err();
    assert_eq!(
        (refused.reason, refused.field.as_str()),
        (Reason::FieldInvalid, "first_day")
    );
    log_first(&mut shop);
    let first = shop.book.head();
    let refused = shop
        .log_as("saloon", |log| log.first_day = true)
        .unwrap_err();
    assert_eq!(refused.reason, Reason::JobState);
    assert!(
        refused.to_string().contains(&format!("entry {first}")),
        "{refused}"
    );
}

/// Two vans that tell it while they have no signal: the second is further use, and flagged.
#[test]
fn a_first_day_that_two_devices_tell_is_flagged() {
    let mut shop = saturday();
    shop.book_saloon("one-day", "2026-03-05 08:00");
    shop.go_to("2026-03-05 15:00");
    let seen = shop.book.head();
    let mut tell = |by: &str| {
        let said = kept(by, seen, at("2026-03-05 14:30"));
        shop.log_as("saloon", |log| (log.first_day, log.said) = (true, said))
            .unwrap()
            .clone()
    };
    let first = tell("van-a");
    let second = tell("van-b");
    assert_eq!(flags(&first), [""; 0]);
    let told = format!(
        "The first day of saloon was logged in entry {} by van-a too",
        first.seq
    );
    assert!(
        flags(&second).iter().any(|flag| flag.starts_with(&told)),
        "{second:?}"
    );
    let says = |entry: &fettlebook_model::Entry| {
        let mut deeds = entry.deeds.iter();
        deeds.any(|deed| matches!(deed, Deed::FirstDayDone { .. }))
    };
    assert!(says(&first) && !says(&second));
    let used =
        |entry: &fettlebook_model::Entry| entry.deeds.iter().filter_map(Deed::within).count();
    assert!(used(&second) > 0);
    // Of a job that takes one day by then it is the log of all of it.
    let said = kept("van-b", seen, at("2026-03-05 14:30"));
    let entry = shop
        .log_as("one-day", |log| (log.first_day, log.said) = (true, said))
        .unwrap();
    assert!(
        flags(entry).concat().contains("takes one day in the book"),
        "{entry:?}"
    );
    let one_day = shop.book.job(&id("one-day")).unwrap();
    assert!(matches!(one_day.state, JobState::Done(_)));
}

#[test]
fn a_first_day_that_is_logged_stays_as_it_was() {
    let mut shop = saturday();
    shop.go_to("2026-03-05 15:00");
    log_first(&mut shop);
    // It says itself from now on which step the second day begins with.
    assert_eq!(
        job(&shop).second_day.as_ref().unwrap().from_step,
        Some(id("again"))
    );
    let edit = |shop: &mut Shop, change: &dyn Fn(&mut Job)| {
        let was = job(shop).clone();
        let mut edited = was.clone();
        change(&mut edited);
        shop.try_say(Command::EditJob { was, job: edited })
            .map(|_| ())
    };
    let told = |refused: Result<(), Refusal>| {
        let refused = refused.unwrap_err();
        (refused.reason, refused.field)
    };
    for (change, field) in [
        (
            (|job| job.starts_at = at("2026-03-06 08:00")) as fn(&mut Job),
            "job.start_time",
        ),
        (|job| job.routine = id("two-step"), "job.routine"),
        (|job| job.second_day = None, "job.second_start_time"),
    ] {
        assert_eq!(
            told(edit(&mut shop, &change)),
            (Reason::JobState, field.to_owned())
        );
    }
    edit(&mut shop, &|job| {
        job.second_day.as_mut().unwrap().starts_at = at("2026-03-09 08:00");
    })
    .unwrap();
    assert!(job(&shop).has_first_day_behind());
    assert_eq!(job(&shop).next_start(), at("2026-03-09 08:00"));
    shop.go_to("2026-03-09 15:00");
    shop.log("saloon");
    assert!(!job(&shop).has_first_day_behind());
}
