//! Goal: whether the kit carries a job by its own routine or by another, without booking anything anew.

use fettlebook_model::check::{Verdict, check_by, check_jobs};
use fettlebook_model::command::Said;
use fettlebook_model::job::StepSets;
use fettlebook_model::{Command, Reason};

use crate::shop::{Shop, id, routine, saloon_job, step};

/// The stocked shop without pads that cut, a routine that finishes alone, and the saloon to be cut twice as deep.
fn shop() -> Shop {
    let mut shop = Shop::stocked();
    let finish = vec![step("finish", "fine-foam-150", "fine-polish-500ml")];
    let routine = routine("finish-only", finish);
    shop.say(Command::CreateRoutine { routine });
    shop.lose("P-01 P-02 P-03 P-04 P-05 P-06 P-07");
    let mut job = saloon_job("saloon", "2026-03-05 08:00");
    job.sets = vec![StepSets {
        step: id("cut"),
        count: 2,
    }];
    shop.say(Command::BookJob { job });
    shop
}

#[test]
fn the_kit_that_does_not_carry_one_routine_may_carry_the_other() {
    let shop = shop();
    let before = shop.book.clone();
    let own = check_jobs(&shop.book, &[id("saloon")], shop.now)
        .unwrap()
        .remove(0);
    let other = check_by(&shop.book, &id("saloon"), &id("finish-only"), shop.now).unwrap();
    assert_eq!(own.verdict, Verdict::Stop);
    assert_eq!(other.verdict, Verdict::Watch, "{:?}", other.lines);
    assert_eq!(other.job.routine, id("finish-only"));
    // The sets of a step that the other has not are not asked of it.
    assert!(other.job.sets.is_empty());
    assert_eq!(shop.book, before);
    // By its own routine it is its own check.
    let again = check_by(&shop.book, &id("saloon"), &id("two-step"), shop.now).unwrap();
    assert_eq!((again.lines, again.verdict), (own.lines, own.verdict));
}

#[test]
fn a_routine_that_is_not_there_and_a_job_that_is_done_are_refused() {
    let mut shop = shop();
    let by = |shop: &Shop, job: &str, routine: &str| {
        let refused = check_by(&shop.book, &id(job), &id(routine), shop.now).unwrap_err();
        (refused.reason, refused.field)
    };
    assert_eq!(
        by(&shop, "saloon", "polish"),
        (Reason::RoutineUnknown, "or_routine".to_owned())
    );
    assert_eq!(
        by(&shop, "estate", "two-step"),
        (Reason::JobUnknown, "jobs".to_owned())
    );
    shop.say(Command::CallOff {
        said: Said::default(),
        job: id("saloon"),
    });
    assert_eq!(by(&shop, "saloon", "two-step").0, Reason::JobState);
}
