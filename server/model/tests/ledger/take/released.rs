//! What gives back what was taken: a person, a job called off or moved to another day, another routine.

use fettlebook_model::command::Said;
use fettlebook_model::deed::Deed;
use fettlebook_model::job::{Job, Routine};
use fettlebook_model::{Command, Entry, Reason};

use super::{check, give_back, pads_in, picked_for, take, two_days};
use crate::shop::{Shop, at, flags, id, tag};

fn edit(shop: &mut Shop, job: &str, change: impl FnOnce(&mut Job)) -> Entry {
    let was = shop.book.job(&id(job)).unwrap().as_ref().clone();
    let mut edited = was.clone();
    change(&mut edited);
    shop.say(Command::EditJob { was, job: edited }).clone()
}

fn gives_back(entry: &Entry) -> bool {
    let mut deeds = entry.deeds.iter();
    deeds.any(|deed| matches!(deed, Deed::JobReleased { .. }))
}

#[test]
fn what_is_given_back_is_free_for_others_and_cannot_be_given_back_twice() {
    let mut shop = two_days();
    let before = pads_in(&check(&shop, "friday"));
    take(&mut shop, "thursday");
    assert_ne!(pads_in(&check(&shop, "friday")), before);
    give_back(&mut shop, "thursday").unwrap();
    assert_eq!(pads_in(&check(&shop, "friday")), before);
    assert_eq!(picked_for(&shop, "thursday"), []);
    let refused = give_back(&mut shop, "thursday").unwrap_err();
    assert_eq!(refused.reason, Reason::JobState);
}

#[test]
fn a_job_called_off_gives_back_what_was_taken_and_its_reversal_takes_it_again() {
    let mut shop = two_days();
    take(&mut shop, "thursday");
    let off = shop.say(Command::CallOff {
        said: Said::default(),
        job: id("thursday"),
    });
    assert!(gives_back(off));
    let seq = off.seq;
    assert!(shop.book.takers(tag("P-01")).next().is_none());
    shop.reverse(seq).unwrap();
    assert_eq!(shop.book.takers(tag("P-01")).count(), 1);
}

#[test]
fn a_job_moved_to_another_day_gives_back_and_one_moved_within_the_day_does_not() {
    let mut shop = two_days();
    take(&mut shop, "thursday");
    let taken = picked_for(&shop, "thursday");
    let later = edit(&mut shop, "thursday", |job| {
        job.starts_at = at("2026-03-05 13:00");
        job.taken = None;
    });
    assert!(!gives_back(&later));
    assert_eq!(
        picked_for(&shop, "thursday"),
        taken,
        "an edit sets nothing of it"
    );
    let moved = edit(&mut shop, "thursday", |job| {
        job.starts_at = at("2026-03-09 08:00");
    });
    assert!(gives_back(&moved));
    assert_eq!(
        flags(&moved),
        ["thursday was moved to another day: what was taken for it is given back. Take it anew."]
    );
    assert_eq!(picked_for(&shop, "thursday"), []);
}

#[test]
fn a_job_that_is_worked_by_another_routine_gives_back() {
    let mut shop = two_days();
    let was = shop.book.routine(&id("two-step")).unwrap().as_ref().clone();
    let other = Routine {
        id: id("other"),
        ..was
    };
    shop.say(Command::CreateRoutine { routine: other });
    take(&mut shop, "thursday");
    let edited = edit(&mut shop, "thursday", |job| job.routine = id("other"));
    assert!(gives_back(&edited));
    assert!(
        flags(&edited)[0].starts_with("thursday is worked by another routine: "),
        "{:?}",
        flags(&edited)
    );
    assert_eq!(picked_for(&shop, "thursday"), []);
}

#[test]
fn an_edited_routine_gives_back_what_was_taken_for_its_booked_jobs() {
    let mut shop = two_days();
    take(&mut shop, "thursday");
    take(&mut shop, "friday");
    let was = shop.book.routine(&id("two-step")).unwrap().as_ref().clone();
    let routine = Routine {
        name: "Two steps".to_owned(),
        ..was.clone()
    };
    let entry = shop.say(Command::EditRoutine { was, routine }).clone();
    let released = |deed: &&Deed| matches!(deed, Deed::JobReleased { .. });
    assert_eq!(entry.deeds.iter().filter(released).count(), 2);
    assert_eq!(flags(&entry).len(), 2, "{:?}", flags(&entry));
    assert_eq!(picked_for(&shop, "friday"), []);
}
