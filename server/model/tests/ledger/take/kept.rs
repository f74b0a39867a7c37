//! Takes that a van kept while it had no signal: recorded as said, with what the book says otherwise.

use fettlebook_model::check::Verdict;
use fettlebook_model::command::{JobTake, Said};
use fettlebook_model::job::Job;
use fettlebook_model::{Command, Deed, Reason, Seq};

use super::{check, give_back, picked_for, take, taking, try_take, two_days};
use crate::kept::kept;
use crate::shop::{Shop, at, flags, id, tag};

/// The take of Thursday's job as a van kept it that had seen the book up to this entry.
fn by(van: &str, seen: Seq, shown: &Shop) -> JobTake {
    let mut looked = shown.clone();
    take(&mut looked, "thursday");
    JobTake {
        said: kept(van, seen, at("2026-03-04 16:00")),
        picked: picked_for(&looked, "thursday"),
        ..taking("thursday")
    }
}

#[test]
fn a_kept_take_is_of_what_was_shown_whatever_others_did_meanwhile() {
    let mut shop = two_days();
    let seen = shop.book.head();
    let shown = by("van-a", seen, &shop);
    let friday = take(&mut shop, "friday");
    shop.lose("P-02");
    shop.move_to("M-01", "van-b");
    let entry = try_take(&mut shop, shown.clone()).unwrap();
    assert_eq!(picked_for(&shop, "thursday"), shown.picked);
    let said = flags(&entry).join("\n");
    for told in [
        format!("P-01 is taken for friday too, in entry {}", friday.seq),
        "P-02 was binned in the book".to_owned(),
        "M-01 is at van-b in the book".to_owned(),
    ] {
        assert!(said.contains(&told), "{told} is not in:\n{said}");
    }
}

#[test]
fn two_vans_that_took_one_job_are_told_of_each_other() {
    let mut shop = two_days();
    let seen = shop.book.head();
    let (first, second) = (by("van-a", seen, &shop), by("van-b", seen, &shop));
    let of_first = try_take(&mut shop, first).unwrap();
    let of_second = try_take(&mut shop, second).unwrap();
    assert_eq!(flags(&of_first), [""; 0]);
    let told = format!(
        "The job thursday was taken in entry {} by van-a too",
        of_first.seq
    );
    assert!(
        flags(&of_second)[0].starts_with(&told),
        "{:?}",
        flags(&of_second)
    );
    // The second comes after its own.
    let again = by("van-b", seen, &shop);
    let of_again = try_take(&mut shop, again).unwrap();
    assert_eq!(flags(&of_again), [""; 0]);
}

/// What a van could not know of is no reason to refuse what it took; what it knew is.
#[test]
fn a_stop_that_the_van_had_not_seen_is_told_and_one_that_it_had_is_refused() {
    let mut shop = two_days();
    let seen = shop.book.head();
    let blind = by("van-a", seen, &shop);
    shop.lose("T-01 T-02");
    let mut knowing = blind.clone();
    knowing.said = kept("van-a", shop.book.head(), at("2026-03-04 16:00"));
    let refused = try_take(&mut shop, knowing).unwrap_err();
    assert_eq!(refused.reason, Reason::CheckStops);
    let entry = try_take(&mut shop, blind).unwrap();
    let said = flags(&entry).join("\n");
    assert!(said.contains("The check of thursday says stop."), "{said}");
    assert_eq!(check(&shop, "thursday").verdict, Verdict::Stop);
}

/// Moved, and not called off: what the van took stays, and the job says that it was changed.
#[test]
fn what_was_taken_for_a_job_that_was_moved_is_recorded_and_told() {
    let mut shop = two_days();
    let seen = shop.book.head();
    let shown = by("van-a", seen, &shop);
    let was = Job::clone(shop.book.job(&id("thursday")).unwrap());
    let job = Job {
        starts_at: at("2026-03-09 08:00"),
        ..was.clone()
    };
    let moved = shop.say(Command::EditJob { was, job }).seq;
    let entry = try_take(&mut shop, shown.clone()).unwrap();
    assert_eq!(picked_for(&shop, "thursday"), shown.picked);
    let told = format!("The job thursday was changed in entry {moved}, which this device had not");
    assert!(flags(&entry)[0].starts_with(&told), "{:?}", flags(&entry));
}

#[test]
fn what_was_taken_for_a_job_that_was_called_off_is_recorded_and_told() {
    let mut shop = two_days();
    let seen = shop.book.head();
    let shown = by("van-a", seen, &shop);
    let off = Command::CallOff {
        said: Said::default(),
        job: id("thursday"),
    };
    shop.say(off);
    let entry = try_take(&mut shop, shown).unwrap();
    let said = flags(&entry).join("\n");
    assert!(
        said.contains("The job thursday is called off in the book."),
        "{said}"
    );
    assert!(shop.book.takers(tag("P-01")).next().is_none());
    // Given back by a van of what nobody took.
    let back = JobTake {
        said: kept("van-b", seen, at("2026-03-04 16:00")),
        is_released: true,
        ..taking("friday")
    };
    let back = try_take(&mut shop, back).unwrap();
    assert!(matches!(&back.deeds[..], [Deed::JobReleased { .. }]));
    assert!(flags(&back)[0].starts_with("Nothing was taken for the job friday"));
    assert!(give_back(&mut shop, "friday").is_err());
}
