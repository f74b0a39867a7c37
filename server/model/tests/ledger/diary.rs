//! Booking, editing and calling off jobs.

use fettlebook_model::command::Said;
use fettlebook_model::job::{Job, JobState};
use fettlebook_model::panel::Panel;
use fettlebook_model::{Command, Reason};
use jiff::SignedDuration;

use crate::shop::{Shop, at, flags, id, saloon_job};

fn call_off(job: &str) -> Command {
    Command::CallOff {
        said: Said::default(),
        job: id(job),
    }
}

/// An edit of a job as it stands.
fn edit(shop: &Shop, job: &str, change: impl FnOnce(&mut Job)) -> Command {
    let was = shop.book.job(&id(job)).unwrap().as_ref().clone();
    let mut job = was.clone();
    change(&mut job);
    Command::EditJob { was, job }
}

#[test]
fn jobs_are_listed_by_their_start_and_an_edit_moves_them() {
    let mut shop = Shop::stocked();
    shop.book_saloon("first", "2026-03-05 08:00");
    shop.book_saloon("second", "2026-03-06 08:00");
    let later = edit(&shop, "first", |job| {
        job.starts_at = at("2026-03-09 08:00");
        job.left_out = vec![Panel::Roof];
    });
    let entry = shop.say(later).seq;
    let listed: Vec<_> = shop.book.booked_jobs().map(|job| job.id.clone()).collect();
    assert_eq!(listed, [id("second"), id("first")]);
    let held = shop.book.job(&id("first")).unwrap();
    assert_eq!(
        (held.last_seq, held.left_out.as_slice()),
        (entry, &[Panel::Roof][..])
    );
}

#[test]
fn an_edit_of_a_job_that_changed_or_is_no_longer_booked_is_refused() {
    let mut shop = Shop::worked();
    let stale = edit(&shop, "thursday", |job| job.note = "second".into());
    let first = edit(&shop, "thursday", |job| job.note = "first".into());
    shop.say(first);
    assert_eq!(
        shop.try_say(stale).unwrap_err().reason,
        Reason::ChangedMeanwhile
    );
    shop.log("thursday");
    let late = edit(&shop, "thursday", |job| job.note = "late".into());
    let refused = shop.try_say(late).unwrap_err();
    assert_eq!(refused.reason, Reason::JobState);
    assert!(refused.what.contains("is done"), "{}", refused.what);
}

#[test]
fn a_job_is_moved_only_to_a_start_to_come_but_its_note_may_change_late() {
    let mut shop = Shop::worked();
    let note = edit(&shop, "thursday", |job| job.note = "silver".into());
    shop.say(note);
    let back = edit(&shop, "thursday", |job| {
        job.starts_at = at("2026-03-05 14:00");
    });
    assert_eq!(shop.try_say(back).unwrap_err().reason, Reason::TimePast);
}

/// Its start was *now* when it was said; a car was set up before it, and the clock of a van may be slow.
#[test]
fn a_job_is_booked_and_moved_as_it_begins_though_minutes_have_gone_by() {
    let mut shop = Shop::stocked();
    let ago = |shop: &Shop, seconds| shop.now - SignedDuration::from_secs(seconds);
    let book = |shop: &mut Shop, job: &str, seconds| {
        let starts_at = ago(shop, seconds);
        let job = saloon_job(job, "2026-03-05 08:00");
        let job = Job { starts_at, ..job };
        shop.try_say(Command::BookJob { job }).map(drop)
    };
    book(&mut shop, "walk-in", 1).unwrap();
    book(&mut shop, "slow-clock", 300).unwrap();
    let over = book(&mut shop, "over", 301).unwrap_err();
    assert_eq!(over.reason, Reason::TimePast);
    let start = ago(&shop, 60);
    let moved = edit(&shop, "walk-in", |job| job.starts_at = start);
    shop.say(moved);
    assert_eq!(shop.book.job(&id("walk-in")).unwrap().starts_at, start);
}

#[test]
fn a_job_with_nothing_left_to_work_or_an_unknown_routine_is_not_booked_by_an_edit() {
    let mut shop = Shop::worked();
    let nothing = edit(&shop, "thursday", |job| job.left_out = Panel::ALL.to_vec());
    assert_eq!(shop.try_say(nothing).unwrap_err().reason, Reason::NoPlan);
    let unknown = edit(&shop, "thursday", |job| job.routine = id("unheard-of"));
    assert_eq!(
        shop.try_say(unknown).unwrap_err().reason,
        Reason::RoutineUnknown
    );
}

#[test]
fn a_job_called_off_leaves_the_diary_and_is_called_off_once() {
    let mut shop = Shop::worked();
    shop.say(call_off("thursday"));
    assert_eq!(shop.book.booked_job_count(), 0);
    let job = shop.book.job(&id("thursday")).unwrap();
    assert_eq!(job.state, JobState::CalledOff);
    let again = shop.try_say(call_off("thursday")).unwrap_err();
    assert_eq!(again.reason, Reason::JobState);
}

#[test]
fn a_job_that_was_called_off_and_done_all_the_same_is_taken_in_and_flagged() {
    let mut shop = Shop::worked();
    shop.say(call_off("thursday"));
    let entry = shop.log("thursday");
    assert_eq!(
        flags(entry),
        ["The job thursday was called off in the book."]
    );
    let job = shop.book.job(&id("thursday")).unwrap();
    assert!(matches!(job.state, JobState::Done(_)));
    assert_eq!(shop.work("P-01"), 16_000_000);
}

#[test]
fn an_id_that_was_taken_back_is_not_given_again() {
    let mut shop = Shop::stocked();
    shop.book_saloon("thursday", "2026-03-05 08:00");
    let seq = shop.book.head();
    shop.reverse(seq).unwrap();
    assert!(shop.book.job(&id("thursday")).is_none());
    assert_eq!(shop.book.booked_job_count(), 0);
    let again = Command::BookJob {
        job: saloon_job("thursday", "2026-03-05 08:00"),
    };
    assert_eq!(shop.try_say(again).unwrap_err().reason, Reason::IdTaken);
}
