//! Receipts and cars that nobody booked, kept without signal: all that a role may do can be kept.

use fettlebook_model::command::{JobLog, Said, Unbooked, UnbookedCar};
use fettlebook_model::job::JobState;
use fettlebook_model::{Command, Deed, Entry, Reason, Seq};

use super::{kept, use_pad};
use crate::shop::{Shop, at, flags, id, receipt, tag};

fn noon() -> (Shop, Seq) {
    let mut shop = Shop::stocked();
    shop.go_to("2026-03-05 12:00");
    let seen = shop.book.head();
    (shop, seen)
}

/// Kept by a van with a letter for its tags.
fn with_letter(by: &str, seen: Seq, letter: char) -> Said {
    let mut said = kept(by, seen, at("2026-03-05 09:00"));
    if let Some(kept) = &mut said.kept {
        kept.tag_letter = Some(letter);
    }
    said
}

fn receive(said: Said, make: &str, tags: &[&str], count: i64) -> Command {
    let mut receipt = receipt(make, count);
    receipt.said = said;
    receipt.tags = tags.iter().map(|one| tag(one)).collect();
    Command::Receive(Box::new(receipt))
}

fn given(entry: &Entry) -> Vec<String> {
    let tags = entry.deeds.iter().filter_map(|deed| match deed {
        Deed::Received { tag, .. } => Some(tag.to_string()),
        _ => None,
    });
    tags.collect()
}

#[test]
fn tags_that_two_vans_give_themselves_are_never_the_same() {
    let (mut shop, seen) = noon();
    let a = shop.say(receive(
        with_letter("van-a", seen, 'A'),
        "coarse-foam-150",
        &[],
        2,
    ));
    assert_eq!(given(a), ["PA-01", "PA-02"]);
    let b = shop.say(receive(
        with_letter("van-b", seen, 'B'),
        "coarse-foam-150",
        &[],
        1,
    ));
    assert_eq!(given(b), ["PB-01"]);
    let again = shop.say(receive(
        with_letter("van-a", seen, 'A'),
        "fine-foam-150",
        &[],
        1,
    ));
    assert_eq!(given(again), ["PA-03"]);
    let bench = shop.say(receive(Said::default(), "coarse-foam-150", &[], 1));
    assert_eq!(given(bench), ["P-13"], "the bench counts on as ever");
    assert_eq!(
        flags(use_pad(
            &mut shop,
            kept("van-a", seen, at("2026-03-05 10:00")),
            "PA-01"
        )),
        [""; 0]
    );
}

#[test]
fn tags_that_were_shown_are_the_ones_that_are_recorded() {
    let (mut shop, seen) = noon();
    shop.say(receive(
        with_letter("van-a", seen, 'A'),
        "coarse-foam-150",
        &["PA-07"],
        1,
    ));
    assert_eq!(shop.piece("PA-07").place, id("bench"));
}

#[test]
fn a_tag_that_was_given_meanwhile_is_no_reason_to_refuse_what_came() {
    let (mut shop, seen) = noon();
    shop.receive("coarse-foam-150", 1);
    let said = || with_letter("van-a", seen, 'A');
    let entry = shop
        .say(receive(said(), "coarse-foam-150", &["P-13", "P-14"], 2))
        .clone();
    assert_eq!(given(&entry), ["PA-01", "P-14"]);
    let told = flags(&entry).concat();
    assert!(
        told.contains("P-13") && told.contains("this one is PA-01"),
        "{told}"
    );
    let twice = receive(said(), "coarse-foam-150", &["P-20", "P-20"], 2);
    assert_eq!(shop.try_say(twice).unwrap_err().reason, Reason::TagTaken);
    let at_once = receive(Said::default(), "coarse-foam-150", &["P-14"], 1);
    assert_eq!(shop.try_say(at_once).unwrap_err().reason, Reason::TagTaken);
}

fn walked_in(said: Said, job: &str, car: UnbookedCar) -> JobLog {
    JobLog {
        said,
        job: Some(id(job)),
        unbooked: Some(Unbooked {
            car,
            routine: id("two-step"),
            place: id("bench"),
            starts_at: None,
            utc_offset_s: 0,
        }),
        ..JobLog::default()
    }
}

fn of_class() -> UnbookedCar {
    UnbookedCar::OfClass("medium-saloon".parse().unwrap())
}

#[test]
fn a_car_that_nobody_booked_comes_into_the_book_with_its_log() {
    let (mut shop, seen) = noon();
    let said = kept("van-a", seen, at("2026-03-05 09:00"));
    let log = walked_in(said, "medium-saloon-9c1f", of_class());
    let entry = shop.say(Command::LogJob(Box::new(log))).clone();
    let job = shop.book.job(&id("medium-saloon-9c1f")).unwrap();
    assert_eq!(job.state, JobState::Done(at("2026-03-05 09:00")));
    assert_eq!(job.car, id("medium-saloon-9c1f"));
    let planned = {
        let mut shop = Shop::worked();
        shop.log("thursday")
            .deeds
            .iter()
            .filter(|deed| deed.within().is_some())
            .count()
    };
    let used = entry
        .deeds
        .iter()
        .filter(|deed| deed.within().is_some())
        .count();
    assert_eq!(used, planned, "as a booked one");
    // It is taken back with all that came with it.
    let seq = entry.seq;
    shop.reverse(seq).unwrap();
    assert!(shop.book.job(&id("medium-saloon-9c1f")).is_none());
    assert!(shop.book.car(&id("medium-saloon-9c1f")).is_none());
    assert_eq!(shop.piece("P-01").pad().unwrap().use_count, 0);
}

#[test]
fn a_known_car_is_logged_without_a_booking_and_stays_when_that_is_taken_back() {
    let (mut shop, _) = noon();
    let car = || UnbookedCar::Known(id("medium-saloon-silver"));
    let log = walked_in(Said::default(), "silver-1", car());
    let seq = shop.say(Command::LogJob(Box::new(log))).seq;
    assert_eq!(
        shop.book.job(&id("silver-1")).unwrap().car,
        id("medium-saloon-silver")
    );
    shop.reverse(seq).unwrap();
    assert!(shop.book.car(&id("medium-saloon-silver")).is_some());
    let mut unknown = walked_in(Said::default(), "silver-2", car());
    unknown.unbooked.as_mut().unwrap().routine = id("three-step");
    let refused = shop
        .try_say(Command::LogJob(Box::new(unknown)))
        .unwrap_err();
    assert_eq!(
        (refused.reason, refused.field.as_str()),
        (Reason::RoutineUnknown, "unbooked.routine")
    );
    let nobody = UnbookedCar::Known(id("nobody"));
    let refused = shop.try_say(Command::LogJob(Box::new(walked_in(
        Said::default(),
        "silver-3",
        nobody,
    ))));
    assert_eq!(refused.unwrap_err().reason, Reason::CarUnknown);
}

/// It was done, whatever the book has of pads: it is recorded as said, with signal as without.
#[test]
fn a_car_that_nobody_booked_is_recorded_where_no_pad_is_ready() {
    let (mut shop, _) = noon();
    shop.lose("P-01 P-02 P-03 P-04 P-05 P-06 P-07");
    let log = walked_in(Said::default(), "medium-saloon-9c1f", of_class());
    let entry = shop.say(Command::LogJob(Box::new(log))).clone();
    let told = flags(&entry).concat();
    assert!(
        told.contains("no ready pad of coarse-foam-150 for the step cut"),
        "{told}"
    );
    let cut = entry.deeds.iter().filter_map(Deed::within);
    let cut = cut.filter(|within| within.step == Some(id("cut"))).count();
    assert!(cut > 0, "the rest of the step is recorded");
    let job = shop.book.job(&id("medium-saloon-9c1f")).unwrap();
    assert!(matches!(job.state, JobState::Done(_)));
    // What was booked is asked about: somebody can look which pads are there.
    shop.book_saloon("friday", "2026-03-06 08:00");
    shop.go_to("2026-03-06 15:00");
    let refused = shop.log_as("friday", |_| {}).unwrap_err();
    assert_eq!(refused.reason, Reason::NoPick);
}
