//! Nothing is deleted: a reversal is an entry, and the kit stands as if the other had not been.

use fettlebook_model::command::{PadUse, Said};
use fettlebook_model::job::JobState;
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::{Command, Reason, Seq, Subject};

use crate::shop::{Shop, id, pad_use, records, replayed, restored, routine, step, tag, weighing};

#[test]
fn a_reversed_log_leaves_every_record_as_it_was() {
    let mut shop = Shop::worked();
    let before = records(&shop.book);
    shop.log_as("thursday", |log| {
        log.pads = vec![PadUse {
            found: Some("torn".parse().unwrap()),
            ..pad_use("P-01")
        }];
        log.weighings = vec![weighing("B-01", 900)];
    })
    .unwrap();
    let seq = shop.book.head();
    assert_ne!(records(&shop.book), before);
    shop.reverse(seq).unwrap();
    assert_eq!(records(&shop.book), before);
    assert_eq!(shop.book.reversed_by(seq), Some(shop.book.head()));
    let job = shop.book.job(&id("thursday")).unwrap();
    assert_eq!(job.state, JobState::Booked);
    assert_eq!(job.last_seq, shop.book.head());
}

#[test]
fn what_came_after_stands_when_an_earlier_entry_is_reversed() {
    let mut shop = Shop::worked();
    let weigh = |grams: i64| Command::Weigh {
        said: Said::default(),
        weighings: vec![weighing("B-01", grams)],
    };
    let first = shop.say(weigh(720)).seq;
    let second = shop.say(weigh(500)).seq;
    assert_eq!(shop.left_ul("B-01"), 400_000);
    shop.reverse(first).unwrap();
    assert_eq!(shop.left_ul("B-01"), 400_000);
    shop.reverse(second).unwrap();
    assert_eq!(shop.left_ul("B-01"), 1_000_000);
}

#[test]
fn the_doubt_an_entry_raised_goes_with_it_and_another_stays() {
    let mut shop = Shop::worked();
    let empty_box = |shop: &mut Shop| {
        shop.log_loose(|loose| loose.sundries = vec![(tag("S-01"), 60)])
            .unwrap()
            .seq
    };
    let (first, second) = (empty_box(&mut shop), empty_box(&mut shop));
    shop.reverse(first).unwrap();
    assert!(shop.piece("S-01").needs_count);
    shop.reverse(second).unwrap();
    assert!(!shop.piece("S-01").needs_count);
}

#[test]
fn an_entry_is_reversed_once_and_a_reversal_is_not() {
    let mut shop = Shop::worked();
    let seq = shop.log("thursday").seq;
    let reversal = shop.reverse(seq).unwrap().seq;
    for (seq, reason) in [
        (seq, Reason::NotReversible),
        (reversal, Reason::NotReversible),
        (Seq(999), Reason::EntryUnknown),
    ] {
        assert_eq!(shop.reverse(seq).unwrap_err().reason, reason);
    }
    shop.log("thursday");
}

#[test]
fn what_others_rest_on_is_not_reversed() {
    let mut shop = Shop::worked();
    shop.log("thursday");
    let seq_of = |shop: &Shop, wanted: &Subject| {
        let about = |entry: &&fettlebook_model::Entry| {
            entry.deeds.iter().any(|deed| deed.subject() == *wanted)
        };
        shop.entries.iter().find(about).unwrap().seq
    };
    for first in [
        Subject::Piece(tag("P-01")),
        Subject::Make(id("coarse-foam-150")),
        Subject::Make(id("nitrile-gloves")),
        Subject::Car(id("medium-saloon-silver")),
        Subject::Routine(id("two-step")),
        Subject::Job(id("thursday")),
    ] {
        let seq = seq_of(&shop, &first);
        let said = shop.reverse(seq).unwrap_err();
        assert_eq!(said.reason, Reason::NotReversible, "{first}: {said}");
    }
}

#[test]
fn a_make_that_only_a_routine_names_is_not_taken_back() {
    let mut shop = Shop::new();
    let named = Subject::Make(id("edgeless-towel-400g"));
    let entry = shop.entries.iter();
    let seq = entry
        .filter(|entry| entry.deeds[0].subject() == named)
        .map(|entry| entry.seq)
        .next()
        .unwrap();
    let said = shop.reverse(seq).unwrap_err();
    assert!(said.what.contains("two-step uses"), "{said}");
}

#[test]
fn a_job_does_not_come_back_to_a_car_that_was_taken_back() {
    let mut shop = Shop::stocked();
    let mut other = shop
        .book
        .car(&id("medium-saloon-silver"))
        .unwrap()
        .as_ref()
        .clone();
    other.id = id("city-car-red");
    let made = shop.say(Command::CreateCar { car: other }).seq;
    let mut was = crate::shop::saloon_job("thursday", "2026-03-05 08:00");
    was.car = id("city-car-red");
    shop.say(Command::BookJob { job: was });
    let was = shop.book.job(&id("thursday")).unwrap().as_ref().clone();
    let mut job = was.clone();
    job.car = id("medium-saloon-silver");
    let edited = shop.say(Command::EditJob { was, job }).seq;
    shop.reverse(made).unwrap();
    let said = shop.reverse(edited).unwrap_err();
    assert_eq!(said.reason, Reason::NotReversible);
    let why = "thursday would use city-car-red again, which was taken back.";
    assert_eq!(said.what, why);
}

#[test]
fn a_routine_does_not_come_back_to_a_make_that_was_taken_back() {
    let mut shop = Shop::stocked();
    let spare = crate::shop::foam(fettlebook_model::make::Grade::Coarse, 140);
    let made = shop
        .say(Command::CreateMake {
            make: crate::shop::make("coarse-foam-140", spare),
        })
        .seq;
    let with = |pad: &str| routine("cut", vec![step("cut", pad, "coarse-compound-1l")]);
    let was = with("coarse-foam-140");
    shop.say(Command::CreateRoutine {
        routine: was.clone(),
    });
    let edit = Command::EditRoutine {
        was,
        routine: with("coarse-foam-150"),
    };
    let edited = shop.say(edit).seq;
    shop.reverse(made).unwrap();
    assert_eq!(
        shop.reverse(edited).unwrap_err().reason,
        Reason::NotReversible
    );
}

#[test]
fn a_reversed_policy_goes_back_and_the_records_still_give_the_book() {
    let mut shop = Shop::new();
    let first = shop.set_policy(PolicyKey::DotUl, 300).seq;
    shop.set_policy(PolicyKey::SparePadsCount, 2);
    shop.reverse(first).unwrap();
    let value = |shop: &Shop, key| shop.book.policy().value(key);
    assert_eq!(value(&shop, PolicyKey::DotUl), 250);
    assert_eq!(value(&shop, PolicyKey::SparePadsCount), 2);
    let second = Seq(first.0 + 1);
    shop.reverse(second).unwrap();
    assert_eq!(value(&shop, PolicyKey::SparePadsCount), 0);
    assert_eq!(restored(&shop.book), shop.book);
}

#[test]
fn replaying_the_entries_and_restoring_the_records_give_the_same_book() {
    let mut shop = Shop::worked();
    let seq = shop.log("thursday").seq;
    shop.reverse(seq).unwrap();
    shop.log("thursday");
    assert_eq!(replayed(&shop.entries), shop.book);
    assert_eq!(restored(&shop.book), shop.book);
}
