//! A copy of a shop's book: gone on with where it can be, else begun anew, and never taken for a book.

use std::fs;

use fettlebook_model::Entry;
use fettlebook_solo::SoloCopy;

use super::super::{KeepError, copy_of, copy_standing, extend_copy};
use super::World;
use crate::access::Role;
use crate::desk::{CopyOf, Desk, DeskOptions, OpenError};
use crate::store::StoreError;
use crate::testing::{TestClock, append_raw, later_entry};

use std::path::PathBuf;
use uuid::Uuid;

const AS_OF: &str = "2026-03-02T08:00:00Z";

/// A book, what the shop sends of it, and a place for the copy.
pub(super) struct Shop {
    pub(super) world: World,
    pub(super) of: CopyOf,
    pub(super) sent: Vec<Vec<u8>>,
}

impl Shop {
    pub(super) async fn with_counts(count: i64) -> Self {
        let world = World::with_counts(count).await;
        let desk = world.open("book");
        let entries = desk.entries(None, false, None, 1_000).await.unwrap();
        desk.close().await.unwrap();
        let sent = entries
            .iter()
            .map(|entry| serde_json::to_vec(entry).unwrap());
        let sent = sent.collect();
        let of = CopyOf {
            book_id: world.book_id,
            incarnation_id: world.book_id,
            caller: "van-a".to_owned(),
            role: Role::Work,
            as_of_time: AS_OF.parse().unwrap(),
        };
        Self { world, of, sent }
    }

    pub(super) fn path(&self) -> PathBuf {
        self.world.path("copy")
    }

    pub(super) fn extend(&self, from: usize, until: usize) -> Result<SoloCopy, KeepError> {
        extend_copy(&self.path(), &self.of, &self.sent[from..until])
    }

    pub(super) fn head(&self) -> Option<i64> {
        copy_standing(&self.path())
            .unwrap()
            .map(|found| found.head_seq)
    }

    fn open(&self) -> Result<Desk, OpenError> {
        let options = DeskOptions::new(TestClock::at(AS_OF), Uuid::nil());
        Desk::open_copy(&self.path(), &options).map(|(desk, _, _)| desk)
    }

    /// Every entry that the copy holds.
    async fn entries(&self) -> Vec<Entry> {
        let desk = self.open().unwrap();
        let entries = desk.entries(None, false, None, 1_000).await.unwrap();
        desk.close().await.unwrap();
        entries
    }

    fn told(&self) -> Vec<Entry> {
        let sent = self.sent.iter();
        sent.map(|bytes| serde_json::from_slice(bytes).unwrap())
            .collect()
    }
}

#[tokio::test]
async fn a_copy_that_is_made_in_pieces_holds_what_the_shop_sent() {
    let shop = Shop::with_counts(8).await;
    assert_eq!(shop.head(), None);
    assert_eq!(shop.extend(0, 3).unwrap().head_seq, 3);
    assert_eq!(shop.extend(3, 3).unwrap().head_seq, 3, "nothing new");
    assert_eq!(shop.extend(3, 10).unwrap().head_seq, 10);
    assert_eq!(shop.head(), Some(10));
    let standing = copy_standing(&shop.path()).unwrap().unwrap();
    assert_eq!(standing.book_id, shop.of.book_id.to_string());
    assert_eq!(standing.as_of_time, shop.of.as_of_time);
    assert_eq!(shop.entries().await, shop.told());
}

#[tokio::test]
async fn a_copy_goes_on_after_it_was_looked_at() {
    let shop = Shop::with_counts(8).await;
    shop.extend(0, 3).unwrap();
    assert_eq!(shop.entries().await.len(), 3);
    shop.extend(3, 10).unwrap();
    assert_eq!(shop.entries().await, shop.told());
}

#[tokio::test]
async fn entries_that_do_not_follow_are_refused_and_nothing_is_changed() {
    let shop = Shop::with_counts(8).await;
    shop.extend(0, 3).unwrap();
    let before = fs::read(shop.path().join("journal/000000000001.jsonl")).unwrap();
    let no_entry = vec![b"{\"seq\":4}".to_vec()];
    let errors = [
        shop.extend(4, 6),
        shop.extend(2, 4),
        extend_copy(&shop.path(), &shop.of, &no_entry),
    ];
    for error in errors {
        let error = error.unwrap_err();
        assert!(
            matches!(error, KeepError::CopyNotContinued { .. }),
            "{error}"
        );
        assert!(error.to_string().contains("entry 3"), "{error}");
    }
    assert_eq!(shop.head(), Some(3));
    let after = fs::read(shop.path().join("journal/000000000001.jsonl")).unwrap();
    assert_eq!(before, after);
}

#[tokio::test]
async fn a_copy_of_something_else_is_thrown_away_and_begins_anew() {
    let changes: [fn(&mut CopyOf); 2] = [
        |of| of.incarnation_id = Uuid::now_v7(),
        |of| of.role = Role::Keep,
    ];
    for change in changes {
        let mut shop = Shop::with_counts(8).await;
        shop.extend(0, 5).unwrap();
        assert_eq!(shop.entries().await.len(), 5);
        change(&mut shop.of);
        let error = shop.extend(5, 7).unwrap_err();
        assert!(
            matches!(error, KeepError::CopyNotContinued { .. }),
            "{error}"
        );
        assert_eq!(shop.head(), None);
        shop.extend(0, 10).unwrap();
        assert_eq!(shop.entries().await, shop.told());
    }
}

#[tokio::test]
async fn another_name_or_a_role_that_sees_the_same_goes_on() {
    let mut shop = Shop::with_counts(8).await;
    shop.extend(0, 5).unwrap();
    shop.of.role = Role::Look;
    shop.of.caller = "van-b".to_owned();
    shop.extend(5, 7).unwrap();
    let standing = copy_standing(&shop.path()).unwrap().unwrap();
    assert_eq!(standing.head_seq, 7);
    let options = DeskOptions::new(TestClock::at(AS_OF), Uuid::nil());
    let (desk, of, _) = Desk::open_copy(&shop.path(), &options).unwrap();
    assert_eq!(of, shop.of);
    desk.close().await.unwrap();
}

/// Story: the entries are on the disk, and the machine stops before copy.json says so.
#[tokio::test]
async fn a_copy_that_was_stopped_before_its_note_was_written_loses_nothing() {
    let shop = Shop::with_counts(8).await;
    shop.extend(0, 3).unwrap();
    let note = fs::read(shop.path().join("copy.json")).unwrap();
    shop.extend(3, 6).unwrap();
    fs::write(shop.path().join("copy.json"), note).unwrap();
    assert_eq!(shop.head(), Some(6));
    shop.extend(6, 10).unwrap();
    assert_eq!(shop.entries().await, shop.told());
}

/// Story: the machine stops while a copy that has to begin anew is being thrown away.
#[tokio::test]
async fn a_copy_that_was_stopped_while_it_was_thrown_away_begins_anew() {
    let shop = Shop::with_counts(8).await;
    shop.extend(0, 1).unwrap();
    let note = fs::read_to_string(shop.path().join("copy.json")).unwrap();
    let mut note: serde_json::Value = serde_json::from_str(&note).unwrap();
    note["end"] = serde_json::Value::Null;
    shop.extend(1, 6).unwrap();
    fs::write(shop.path().join("copy.json"), note.to_string()).unwrap();
    assert_eq!(shop.head(), None);
    assert!(matches!(shop.open(), Err(OpenError::NoCopy { .. })));
    shop.extend(0, 10).unwrap();
    assert_eq!(shop.entries().await, shop.told());
}

#[tokio::test]
async fn a_damaged_copy_is_said_to_be_and_begins_anew() {
    let shop = Shop::with_counts(8).await;
    shop.extend(0, 10).unwrap();
    let segment = shop.path().join("journal/000000000001.jsonl");
    for (at, change) in [(3, "\"left_quantity\":1"), (9, "\"left_quantity\":7")] {
        let whole = fs::read_to_string(&segment).unwrap();
        let mut lines: Vec<String> = whole.lines().map(str::to_owned).collect();
        lines[at] = lines[at].replacen(change, "\"left_quantity\":9", 1);
        let changed = lines.join("\n") + "\n";
        assert_ne!(changed, whole, "line {at}");
        fs::write(&segment, changed).unwrap();
        let opened = shop.open().err().unwrap();
        assert!(matches!(opened, OpenError::CopyDamaged { .. }), "{opened}");
        assert!(opened.to_string().contains("shop sync"), "{opened}");
        assert_eq!(shop.head(), None);
        shop.extend(0, 10).unwrap();
        assert_eq!(shop.entries().await, shop.told());
    }
}

#[tokio::test]
async fn a_note_that_cannot_be_read_begins_anew() {
    let shop = Shop::with_counts(8).await;
    shop.extend(0, 4).unwrap();
    fs::write(shop.path().join("copy.json"), "{").unwrap();
    assert_eq!(shop.head(), None);
    assert!(matches!(shop.open(), Err(OpenError::NoCopy { .. })));
    shop.extend(0, 10).unwrap();
    assert_eq!(shop.entries().await, shop.told());
}

#[tokio::test]
async fn a_copy_is_never_opened_as_a_book() {
    let shop = Shop::with_counts(2).await;
    shop.extend(0, 4).unwrap();
    let error = shop.world.try_open("copy").err().unwrap();
    assert!(
        matches!(error, OpenError::Store(StoreError::Copy { .. })),
        "{error}"
    );
    assert!(error.to_string().contains("not a book"), "{error}");
}

#[tokio::test]
async fn a_folder_that_holds_something_else_is_left_alone() {
    let shop = Shop::with_counts(2).await;
    let book = shop.world.path("book");
    let before = fs::read(shop.world.segment("book")).unwrap();
    let error = extend_copy(&book, &shop.of, &shop.sent).unwrap_err();
    assert!(matches!(error, KeepError::NotACopy { .. }), "{error}");
    assert!(matches!(
        copy_standing(&book),
        Err(KeepError::NotACopy { .. })
    ));
    assert_eq!(before, fs::read(shop.world.segment("book")).unwrap());
    assert!(!book.join("copy.json").exists());
}

#[tokio::test]
async fn there_is_nothing_to_open_where_no_copy_was_made() {
    let shop = Shop::with_counts(2).await;
    assert!(matches!(shop.open(), Err(OpenError::NoCopy { .. })));
    assert!(!shop.path().exists(), "looking makes nothing");
}

#[test]
fn what_the_shop_says_of_itself_is_read_or_refused() {
    let id = "0196f5a0-0000-7000-8000-000000000001";
    let as_of = AS_OF.parse().unwrap();
    assert_eq!(
        copy_of(id, id, "van-a", "keep", as_of).unwrap().role,
        Role::Keep
    );
    for (book, incarnation, role) in [("7", id, "keep"), (id, "7", "keep"), (id, id, "boss")] {
        let error = copy_of(book, incarnation, "van-a", role, as_of).unwrap_err();
        assert!(
            matches!(error, KeepError::CopyNotUnderstood { .. }),
            "{error}"
        );
    }
}

/// The story: the shop was updated, the van was not.
#[tokio::test]
async fn entries_of_a_later_fettle_are_not_copied_and_what_is_there_stays() {
    let mut shop = Shop::with_counts(4).await;
    shop.extend(0, 6).unwrap();
    let later = format!("{{\"seq\":7,{}", &later_entry()[1..]);
    shop.sent.push(later.into_bytes());
    let error = shop.extend(6, 7).unwrap_err();
    let KeepError::NewerEntry { seq, .. } = &error else {
        panic!("{error}");
    };
    assert_eq!(seq.0, 7);
    let said = "entry 7 of the shop's book was written by a later fettle";
    assert!(error.to_string().contains(said), "{error}");
    assert_eq!(shop.head(), Some(6));
    assert_eq!(shop.entries().await.len(), 6);
    // Even one of another life of the book is not thrown away for it.
    shop.of.incarnation_id = Uuid::now_v7();
    let later = String::from_utf8(shop.sent[6].clone()).unwrap();
    let first = later.replace("{\"seq\":7,", "{\"seq\":1,").into_bytes();
    assert!(extend_copy(&shop.path(), &shop.of, &[first]).is_err());
    assert_eq!(shop.head(), Some(6));
}

#[tokio::test]
async fn a_copy_that_a_later_fettle_made_is_not_damaged() {
    let shop = Shop::with_counts(4).await;
    shop.extend(0, 6).unwrap();
    append_raw(&shop.path(), &[&later_entry()]);
    let Err(error) = shop.open() else {
        panic!("it opened");
    };
    assert!(matches!(error, OpenError::NewerCopy { .. }), "{error}");
    assert_eq!(shop.head(), Some(7), "it is not marked as damaged");
}
