//! What becomes of a group when the way to the engine breaks, at every message of a run in turn.
//!
//! The story: a book takes groups through a relay on this machine. At the n-th message that goes to the
//! engine the relay cuts the connection, before the message or right after it, so that the engine has done
//! what nobody hears of. The relay lets new connections through. All that was acknowledged is there, each
//! request once, and nothing is read-only for it. Then a holder that was held up comes back after another
//! has taken over.

mod given_up;
mod hosts;
mod own_engine;
mod several;

use std::sync::Arc;
use std::time::{Duration, Instant};

use fettlebook_model::{Moment, Seq};
use fettlebook_yard::engine::engine;
use uuid::Uuid;

use super::{Engine, EngineUrl, PostgresStore, tables};
use crate::journal::{Head, Journal, JournalError, Line, Reached};
use crate::store::{Asked, CabinetError, FolderStore, Paper, Store, StoreError, WritersRight};
use crate::testing::postgres::ROLE;
use crate::testing::relay::{Cut, Relay};

const ASKED: Asked = Asked {
    new_book_id: Uuid::from_u128(1),
    now: Moment::UNIX_EPOCH,
    wait: Duration::ZERO,
    mid_move: false,
};

/// Lines of each group in turn.
const GROUPS: [u64; 4] = [1, 3, 64, 2];

/// An empty database, and a folder for this machine.
struct Place {
    url: String,
    node: tempfile::TempDir,
}

impl Place {
    fn new() -> Option<Self> {
        let engine = engine()?;
        let database = engine.database(&[tables(0).as_str(), ROLE].concat());
        Some(Self {
            url: engine.url("serving", &database),
            node: tempfile::tempdir().unwrap(),
        })
    }

    /// Asks the engine itself.
    fn ask(&self, sql: &str) -> String {
        let (_, database) = self.url.rsplit_once('/').unwrap();
        engine().unwrap().ask(database, sql)
    }

    /// The store as one more process finds it, by way of a relay where there is one.
    fn store(&self, relay: Option<&Relay>) -> PostgresStore {
        let url = relay.map_or_else(|| self.url.clone(), |relay| relay.instead_of(&self.url));
        let engine = Engine::at(EngineUrl::read(&url, None).unwrap()).unwrap();
        PostgresStore::of(engine, self.node.path().to_owned(), None)
    }
}

fn line(seq: u64) -> Line {
    Line {
        bytes: format!(r#"{{"seq":{seq},"note":"washed P-07"}}"#).into_bytes(),
        request: Some(Uuid::from_u128(seq.into())),
    }
}

fn open(store: &dyn Store) -> (Box<dyn WritersRight>, Box<dyn Journal>) {
    let right = store.take(&ASKED).unwrap();
    right.settle();
    let found = right.reader().survey(None, None, &mut |_| Ok(())).unwrap();
    let journal = right.journal(&found).unwrap();
    (right, journal)
}

/// The lines of the next group of so many.
fn next(head: &Head, count: u64) -> Vec<Line> {
    (head.seq.0 + 1..=head.seq.0 + count).map(line).collect()
}

/// Gives the groups, each until it is acknowledged. Of one that is refused nothing is there, nor comes.
fn work(journal: &mut dyn Journal, place: &Place) {
    for count in GROUPS {
        let head = journal.head();
        let lines = next(&head, count);
        let mut tries = 0;
        loop {
            match journal.append(&head, &lines) {
                Ok(marks) => {
                    assert_eq!(marks.len() as u64, count);
                    break;
                }
                Err(JournalError::Engine { .. }) if tries < 20 => {
                    tries += 1;
                    std::thread::sleep(Duration::from_millis(200));
                    let there = place.ask("SELECT head_seq FROM fettle.book");
                    assert_eq!(there, head.seq.to_string());
                }
                Err(error) => panic!("{error}"),
            }
        }
    }
}

#[test]
fn a_way_that_breaks_loses_no_group_and_gives_none_twice() {
    let Some(whole) = Place::new() else { return };
    let relay = Relay::to(&whole.url);
    let store = whole.store(Some(&relay));
    let (right, mut journal) = open(&store);
    let begun = relay.message_count();
    work(&mut *journal, &whole);
    let messages = relay.message_count() - begun;
    drop((journal, right));
    assert!(messages >= GROUPS.len() as u64);
    for cut in [Cut::Before, Cut::After] {
        for at in 0..messages {
            let place = Place::new().unwrap();
            let relay = Relay::to(&place.url);
            let store = place.store(Some(&relay));
            let (right, mut journal) = open(&store);
            relay.cut_at(at, cut);
            work(&mut *journal, &place);
            assert!(relay.has_cut(), "{cut:?} at {at}");
            drop((journal, right));
            let (right, _journal) = open(&place.store(None));
            let mut seqs = Vec::new();
            let found = right.reader().survey(None, None, &mut |line| {
                seqs.push(line.mark.at.seq.0);
                Ok(())
            });
            assert_eq!(found.unwrap().damage, None, "{cut:?} at {at}");
            let all: Vec<u64> = (1..=GROUPS.iter().sum()).collect();
            assert_eq!(seqs, all, "{cut:?} at {at}");
        }
    }
}

#[test]
fn a_holder_that_comes_back_finds_that_another_took_over() {
    let Some(place) = Place::new() else { return };
    let (held_up, other) = (place.store(None), place.store(None));
    let (_right, mut old) = open(&held_up);
    old.append(&old.head(), &[line(1)]).unwrap();
    // As the engine does when it takes the holder for gone: the lock that tells who is there is let go.
    held_up.engine.be_gone(ASKED.new_book_id);
    let (_right, mut new) = open(&other);
    let head = old.head();
    let late = old.append(&head, &[line(2)]);
    assert!(matches!(late, Err(JournalError::RightLost { .. })));
    new.append(&head, &[line(2)]).unwrap();
    let again = old.append(&head, &[line(2)]);
    assert!(matches!(again, Err(JournalError::RightLost { .. })));
    assert_eq!(new.head().seq, Seq(2));
}

#[test]
fn whoever_goes_on_after_a_cut_is_there_for_others_still() {
    let Some(place) = Place::new() else { return };
    let relay = Relay::to(&place.url);
    let store = place.store(Some(&relay));
    let (_right, mut journal) = open(&store);
    relay.cut_at(0, Cut::After);
    journal.append(&journal.head(), &[line(1)]).unwrap();
    assert!(relay.has_cut());
    let locks = "SELECT count(*) FROM pg_locks JOIN pg_database AS here ON here.oid = database
                 WHERE locktype = 'advisory' AND granted AND datname = current_database()";
    wait_until(|| place.ask(locks) == "1");
    let second = place.store(None).take(&ASKED);
    assert!(
        matches!(second, Err(StoreError::InUse { .. })),
        "{second:?}"
    );
    journal.append(&journal.head(), &[line(2)]).unwrap();
}

#[test]
fn the_chain_is_the_one_that_a_folder_has() {
    let Some(place) = Place::new() else { return };
    let folder = tempfile::tempdir().unwrap();
    let (here, there) = (FolderStore::at(folder.path()), place.store(None));
    let stores: [&dyn Store; 2] = [&here, &there];
    let [here, there] = stores.map(|store| {
        let (_right, mut journal) = open(store);
        for count in GROUPS {
            let head = journal.head();
            journal.append(&head, &next(&head, count)).unwrap();
        }
        journal.head()
    });
    assert_eq!(here, there);
}

#[test]
fn an_entry_that_somebody_changed_is_found_by_reading() {
    let Some(place) = Place::new() else { return };
    let store = place.store(None);
    let (right, mut journal) = open(&store);
    journal
        .append(&journal.head(), &next(&journal.head(), 3))
        .unwrap();
    drop((journal, right));
    let changed = "replace(convert_from(bytes, 'UTF8'), 'P-07', 'P-08')";
    let change =
        format!("UPDATE fettle.entry SET bytes = convert_to({changed}, 'UTF8') WHERE seq = 2");
    drop(place.ask(&change));
    let right = store.take(&ASKED).unwrap();
    let found = right.reader().survey(None, None, &mut |_| Ok(())).unwrap();
    assert_eq!(found.damage.as_ref().map(|damage| damage.seq), Some(Seq(2)));
    assert_eq!(found.head.seq, Seq(1));
    assert!(matches!(
        right.journal(&found),
        Err(JournalError::Damaged(_))
    ));
}

#[test]
fn two_stores_of_one_process_do_not_both_have_the_right() {
    let Some(place) = Place::new() else { return };
    let store = place.store(None);
    let right = store.take(&ASKED).unwrap();
    let second: Arc<dyn Store> = Arc::new(store.clone());
    assert!(second.take(&ASKED).is_err());
    drop(right);
    second.take(&ASKED).unwrap();
}

#[test]
fn a_paper_that_was_changed_elsewhere_is_not_written_over() {
    let Some(place) = Place::new() else { return };
    drop(place.store(None).take(&ASKED).unwrap());
    let (here, there) = (place.store(None).cabinet(), place.store(None).cabinet());
    for cabinet in [&here, &there] {
        cabinet.open().unwrap();
        assert_eq!(cabinet.read(Paper::Devices).unwrap(), None);
    }
    here.write(Paper::Devices, b"van-a").unwrap();
    let late = there.write(Paper::Devices, b"van-b");
    assert!(
        matches!(late, Err(CabinetError::Changed { .. })),
        "{late:?}"
    );
    assert_eq!(there.read(Paper::Devices).unwrap().unwrap(), b"van-a");
    there.write(Paper::Devices, b"van-a, van-b").unwrap();
    let late = here.write(Paper::Devices, b"van-c");
    assert!(
        matches!(late, Err(CabinetError::Changed { .. })),
        "{late:?}"
    );
}

/// What is too slow again and again is given up, and the book goes on.
#[test]
fn a_group_that_never_counts_is_refused_and_the_next_is_taken() {
    let Some(place) = Place::new() else { return };
    let relay = Relay::to(&place.url);
    let store = place.store(Some(&relay));
    let (_right, mut journal) = open(&store);
    let head = journal.head();
    // Each sending of it ends the connection before the engine has it.
    relay.cut_each_with(b"never");
    let text = br#"{"seq":1,"note":"never"}"#.to_vec();
    let refused = journal.append(&head, &[Line::of(text)]);
    assert!(
        matches!(refused, Err(JournalError::Engine { .. })),
        "{refused:?}"
    );
    journal.append(&head, &[line(1)]).unwrap();
    assert_eq!(journal.head().seq, Seq(1));
}

/// Else a leader that ends while a book is read through would make it read-only.
#[test]
fn what_was_being_read_when_the_way_broke_is_read_again() {
    let Some(place) = Place::new() else { return };
    let relay = Relay::to(&place.url);
    let (right, mut journal) = open(&place.store(Some(&relay)));
    journal
        .append(&journal.head(), &next(&journal.head(), 3))
        .unwrap();
    relay.cut_at(0, Cut::After);
    let read = right
        .reader()
        .read_through(&Reached::NOTHING, Seq(3), &|| true);
    assert!(relay.has_cut());
    assert_eq!(read.unwrap().end.chain, journal.head().chain);
}

/// Else a leader that was replaced and comes back for a moment would have the book taken for damaged.
#[test]
fn what_an_engine_lacks_that_was_the_leader_once_is_no_damage() {
    let Some(place) = Place::new() else { return };
    let (right, mut journal) = open(&place.store(None));
    journal
        .append(&journal.head(), &next(&journal.head(), 3))
        .unwrap();
    place.ask(
        "BEGIN;
         CREATE TABLE newest AS SELECT * FROM fettle.entry WHERE seq = 3;
         DELETE FROM fettle.entry WHERE seq = 3;
         UPDATE fettle.book SET head_seq = 2;
         COMMIT",
    );
    let reader = right.reader();
    let read = std::thread::spawn(move || reader.read_through(&Reached::NOTHING, Seq(3), &|| true));
    std::thread::sleep(Duration::from_millis(500));
    assert!(!read.is_finished(), "it is asked again");
    place.ask(
        "BEGIN;
         INSERT INTO fettle.entry SELECT * FROM newest;
         UPDATE fettle.book SET head_seq = 3;
         COMMIT",
    );
    let read = read.join().unwrap().unwrap();
    assert_eq!(read.end.chain, journal.head().chain);
    // Where the engine knows of it, what lacks is damage.
    place.ask("DELETE FROM fettle.entry WHERE seq = 3");
    let read = right
        .reader()
        .read_through(&Reached::NOTHING, Seq(3), &|| true);
    assert!(matches!(read, Err(JournalError::Damaged(_))), "{read:?}");
}

/// Waits for something that comes soon.
fn wait_until(is_so: impl Fn() -> bool) {
    let start = Instant::now();
    while !is_so() {
        assert!(
            start.elapsed() < Duration::from_secs(20),
            "it does not come"
        );
        std::thread::sleep(Duration::from_millis(20));
    }
}
