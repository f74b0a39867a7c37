//! A damaged book or a whole one beside a backup: where the two go different ways is named, and nothing
//! of another incarnation is mixed into a book.

use std::fs;

use serde_json::value::RawValue;
use uuid::Uuid;

use super::World;
use crate::journal::Chain;
use crate::keep::{BackupComparison, BookSaid, KeepError, mend, restore};
use crate::store::folder::read_identity;
use crate::testing::{count_gloves, order};
use fettlebook_solo::{SoloHistories, SoloMend, SoloMended};

#[derive(serde::Deserialize)]
struct Line<'a> {
    #[serde(borrow)]
    entry: &'a RawValue,
}

/// Writes a journal anew from an entry on, with another count, so that every line fits the one before.
fn rewrite(world: &World, name: &str, from: usize) {
    let mut chain = Chain::ZERO;
    let mut lines = Vec::new();
    for (seq, line) in (1..).zip(world.lines(name)) {
        let line: Line<'_> = serde_json::from_str(&line).unwrap();
        let mut entry = line.entry.get().to_owned();
        if seq == from {
            entry = entry.replacen("\"left_quantity\":", "\"left_quantity\":4", 1);
            assert_ne!(entry, line.entry.get());
        }
        chain = chain.link(entry.as_bytes());
        lines.push(format!("{{\"chain\":\"{chain}\",\"entry\":{entry}}}"));
    }
    world.write_lines(name, &lines);
}

/// Counts the gloves so often in a book.
async fn count(world: &World, name: &str, lefts: std::ops::Range<i64>) {
    let desk = world.open(name);
    for left in lefts {
        desk.submit(order(count_gloves(left))).await.unwrap();
    }
    desk.close().await.unwrap();
}

fn mended(world: &World, from: &str) -> SoloMended {
    let asked = SoloMend {
        from: world.path(from),
        to: world.path("mended"),
        backup: Some(world.path("late")),
        write: true,
    };
    mend(&asked, Uuid::now_v7()).unwrap()
}

fn against(world: &World, name: &str, backup: &str) -> Result<SoloHistories, KeepError> {
    let identity = read_identity(&world.path(name)).unwrap().unwrap();
    let said = BookSaid::parse(
        &identity.book_id.to_string(),
        &identity.incarnation_id.to_string(),
        identity.since.0,
    )?;
    let mut comparing = BackupComparison::begin(&world.path(backup), said)?;
    let journal = fs::read(world.segment(name)).unwrap();
    let end = journal.iter().rposition(|byte| *byte != 0).unwrap() + 1;
    for part in journal[..end].chunks(100) {
        comparing.take("journal/000000000001.jsonl", part)?;
    }
    Ok(comparing.finish().histories)
}

/// The story: a book of seven entries is backed up and goes on to the ninth; that is backed up too.
/// Then the book is lost, and `second` is made of the early backup and goes on another way.
async fn two_lives() -> World {
    let world = World::with_counts(5).await;
    world.back_up("early").await;
    count(&world, "book", 30..32).await;
    world.back_up("late").await;
    restore(&world.path("early"), &world.path("second"), Uuid::now_v7()).unwrap();
    count(&world, "second", 40..43).await;
    world
}

#[tokio::test]
async fn mending_takes_nothing_of_another_life_and_says_from_where_on_it_is_one() {
    // The first entry of the second life is damaged: the late backup has an eighth entry whose chain
    // value fits, and which never happened in this life.
    let world = two_lives().await;
    let whole = world.lines("second");
    let mut lines = whole.clone();
    lines[7] = lines[7].replacen("\"left_quantity\":40", "\"left_quantity\":41", 1);
    assert_ne!(lines, whole);
    world.write_lines("second", &lines);
    let found = mended(&world, "second");
    assert_eq!((found.head_seq, found.taken.len()), (7, 0));
    assert_eq!(world.lines("mended"), whole[..7]);
    assert_eq!(found.histories, SoloHistories::OtherIncarnation(8));

    // A later one is damaged: what is whole shows the same.
    let world = two_lives().await;
    let whole = world.lines("second");
    let mut lines = whole.clone();
    lines[8] = lines[8].replacen("\"left_quantity\":41", "\"left_quantity\":42", 1);
    world.write_lines("second", &lines);
    let found = mended(&world, "second");
    assert_eq!(found.histories, SoloHistories::OtherIncarnation(8));
    assert_eq!(world.lines("mended"), whole[..8]);
}

#[tokio::test]
async fn mending_takes_from_another_life_what_both_had() {
    let world = two_lives().await;
    let whole = world.lines("second");
    let mut lines = whole.clone();
    lines[3] = lines[3].replacen("\"left_quantity\":1", "\"left_quantity\":9", 1);
    world.write_lines("second", &lines);
    let found = mended(&world, "second");
    assert_eq!(found.taken.len(), 1);
    assert_eq!(world.lines("mended"), whole);
}

#[tokio::test]
async fn mending_names_the_entry_from_which_on_a_book_was_rewritten() {
    let world = World::with_counts(5).await;
    world.back_up("late").await;
    rewrite(&world, "book", 5);
    let rewritten = world.lines("book");
    let found = mended(&world, "book");
    assert_eq!(found.histories, SoloHistories::Rewritten(5));
    assert_eq!(world.lines("mended"), rewritten, "its own lines are kept");
    assert_eq!(found.taken.len(), 0);
}

#[tokio::test]
async fn a_book_agrees_with_its_own_backups() {
    let world = two_lives().await;
    for (name, backup) in [("book", "early"), ("book", "late"), ("second", "early")] {
        let found = against(&world, name, backup).unwrap();
        assert_eq!(found, SoloHistories::Agree, "{name} against {backup}");
    }
}

#[tokio::test]
async fn a_backup_of_another_life_goes_its_own_way_after_what_both_had() {
    let world = two_lives().await;
    let own_way = SoloHistories::OtherIncarnation(8);
    assert_eq!(against(&world, "second", "late").unwrap(), own_way);
    // The second life has not gone on yet, so that the old one has more.
    restore(&world.path("early"), &world.path("third"), Uuid::now_v7()).unwrap();
    assert_eq!(against(&world, "third", "late").unwrap(), own_way);
}

#[tokio::test]
async fn a_rewritten_and_a_shortened_book_are_told_by_a_backup() {
    let world = two_lives().await;
    let whole = world.lines("book");
    world.write_lines("book", &whole[..6]);
    let lacks = SoloHistories::Lacks(7);
    assert_eq!(against(&world, "book", "late").unwrap(), lacks);
    world.write_lines("book", &whole);
    rewrite(&world, "book", 5);
    let rewritten = SoloHistories::Rewritten(5);
    assert_eq!(against(&world, "book", "late").unwrap(), rewritten);
    // What both lives had is the same in both, whoever goes which way afterwards.
    rewrite(&world, "second", 5);
    assert_eq!(against(&world, "second", "late").unwrap(), rewritten);
}

#[tokio::test]
async fn a_backup_of_another_book_is_refused() {
    let (world, other) = (two_lives().await, World::with_counts(1).await);
    other.back_up("other").await;
    fs::rename(other.path("other"), world.path("other")).unwrap();
    let refused = against(&world, "book", "other");
    assert!(
        matches!(refused, Err(KeepError::OtherBook { .. })),
        "{refused:?}"
    );
}
