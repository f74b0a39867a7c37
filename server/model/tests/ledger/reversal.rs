//! Nothing is deleted: a reversal is an entry, and the kit stands as if the other had not been.

use fettlebook_model::command::{JobLog, PadUse, Said, Weighing};
use fettlebook_model::job::JobState;
use fettlebook_model::{Book, Command, Reason, Record, Seq, Subject};
use fettlebook_quantity::Mass;

use crate::shop::{Shop, id, tag};

fn reverse(seq: Seq) -> Command {
    Command::Reverse {
        said: Said::default(),
        seq,
        past: None,
    }
}

/// The records of a book without the numbers of the entries that touched them.
fn records(book: &Book) -> Vec<(Subject, Record)> {
    book.subjects()
        .into_iter()
        .filter(|subject| !matches!(subject, Subject::Entry(_)))
        .filter_map(|subject| {
            let record = match book.record(&subject)? {
                Record::Piece(piece) => {
                    let mut piece = piece.as_ref().clone();
                    piece.last_seq = Seq::default();
                    Record::Piece(piece.into())
                }
                Record::Job(job) => {
                    let mut job = job.as_ref().clone();
                    job.last_seq = Seq::default();
                    Record::Job(job.into())
                }
                other => other,
            };
            Some((subject, record))
        })
        .collect()
}

fn worked() -> Shop {
    let mut shop = Shop::stocked();
    shop.book_saloon("thursday", "2026-03-05 08:00");
    shop.go_to("2026-03-05 15:00");
    shop
}

#[test]
fn a_reversed_log_leaves_every_record_as_it_was() {
    let mut shop = worked();
    let before = records(&shop.book);
    let seq = shop
        .say(Command::LogJob(Box::new(JobLog {
            job: Some(id("thursday")),
            pads: vec![PadUse {
                tag: tag("P-01"),
                section_count: None,
                found: Some("torn".parse().unwrap()),
                aside: None,
            }],
            weighings: vec![Weighing {
                tag: tag("B-01"),
                gross_mg: Mass::from_mg(900_000),
            }],
            ..JobLog::default()
        })))
        .seq;
    assert_ne!(records(&shop.book), before);
    shop.say(reverse(seq));
    assert_eq!(records(&shop.book), before);
    assert_eq!(shop.book.reversed_by(seq), Some(shop.book.head()));
    assert_eq!(
        shop.book.job(&id("thursday")).unwrap().state,
        JobState::Booked
    );
}

#[test]
fn what_came_after_stands_when_an_earlier_entry_is_reversed() {
    let mut shop = worked();
    let weigh = |grams: i64| Command::Weigh {
        said: Said::default(),
        weighings: vec![Weighing {
            tag: tag("B-01"),
            gross_mg: Mass::from_mg(grams * 1000),
        }],
    };
    let first = shop.say(weigh(720)).seq;
    let second = shop.say(weigh(500)).seq;
    assert_eq!(shop.left_ul("B-01"), 400_000);
    shop.say(reverse(first));
    assert_eq!(shop.left_ul("B-01"), 400_000);
    shop.say(reverse(second));
    assert_eq!(shop.left_ul("B-01"), 1_000_000);
}

#[test]
fn an_entry_is_reversed_once_and_a_reversal_is_not() {
    let mut shop = worked();
    let seq = shop.log("thursday").seq;
    let reversal = shop.say(reverse(seq)).seq;
    assert_eq!(
        shop.try_say(reverse(seq)).unwrap_err().reason,
        Reason::NotReversible
    );
    assert_eq!(
        shop.try_say(reverse(reversal)).unwrap_err().reason,
        Reason::NotReversible
    );
    assert_eq!(
        shop.try_say(reverse(Seq(999))).unwrap_err().reason,
        Reason::EntryUnknown
    );
    shop.log("thursday");
}

#[test]
fn what_others_rest_on_is_not_reversed() {
    let mut shop = worked();
    shop.log("thursday");
    let seq_of = |shop: &Shop, wanted: Subject| {
        let about = |entry: &&fettlebook_model::Entry| {
            entry.deeds.iter().any(|deed| deed.subject() == wanted)
        };
        shop.entries.iter().find(about).unwrap().seq
    };
    for first in [
        Subject::Piece(tag("P-01")),
        Subject::Make(id("coarse-foam-150")),
        Subject::Car(id("medium-saloon-silver")),
        Subject::Routine(id("two-step")),
        Subject::Job(id("thursday")),
    ] {
        let seq = seq_of(&shop, first.clone());
        let said = shop.try_say(reverse(seq)).unwrap_err();
        assert_eq!(said.reason, Reason::NotReversible, "{first}: {said}");
    }
}

#[test]
fn replaying_the_entries_and_restoring_the_records_give_the_same_book() {
    let mut shop = worked();
    let seq = shop.log("thursday").seq;
    shop.say(reverse(seq));
    shop.log("thursday");
    let mut replayed = Book::new();
    for entry in &shop.entries {
        replayed.apply(entry);
    }
    assert_eq!(replayed, shop.book);
    let kept: Vec<_> = shop
        .book
        .subjects()
        .into_iter()
        .filter_map(|subject| shop.book.record(&subject).map(|record| (subject, record)))
        .collect();
    assert_eq!(Book::restore(shop.book.head(), kept), shop.book);
}
