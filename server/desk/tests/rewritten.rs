//! Somebody writes the whole journal anew so that every line fits the one before. The chain cannot show
//! it; what the shelf and the clients remember does.

use std::fs;

use fettlebook_model::Seq;
use serde_json::value::RawValue;

use super::{World, take};
use crate::desk::{Compared, DeskError, Seen, ShelfFound};
use crate::journal::{Chain, Head};
use crate::testing::new_car;

/// Counts in the book: entries 3 to 152, so that the shelf keeps the chain values of 1, 65 and 129.
const COUNTS: i64 = 150;

#[derive(serde::Deserialize)]
struct Line<'a> {
    #[serde(borrow)]
    entry: &'a RawValue,
}

/// The journal with a change to one entry, and every chain value worked out again.
fn rewritten(journal: &str, seq: usize, change: impl Fn(&str) -> String) -> String {
    let mut chain = Chain::ZERO;
    let mut text = String::new();
    for (at, line) in (1..).zip(journal.lines().filter(|line| line.starts_with('{'))) {
        let line: Line<'_> = serde_json::from_str(line).unwrap();
        let mut entry = line.entry.get().to_owned();
        if at == seq {
            entry = change(&entry);
            assert_ne!(entry, line.entry.get());
        }
        chain = chain.link(entry.as_bytes());
        text.push_str(&format!("{{\"chain\":\"{chain}\",\"entry\":{entry}}}\n"));
    }
    text
}

/// Another count in the place of one.
fn recounted(entry: &str) -> String {
    entry.replacen("\"left_quantity\":", "\"left_quantity\":4", 1)
}

/// Another request in the place of one.
fn of_another_request(entry: &str) -> String {
    let (start, rest) = entry.split_once("\"request\":\"").unwrap();
    let (_, rest) = rest.split_once('"').unwrap();
    format!("{start}\"request\":\"{}\"{rest}", uuid::Uuid::now_v7())
}

async fn assert_opens_read_only(world: &World, first: u64, said: &str) {
    let (desk, report) = world.try_open().unwrap();
    let reason = report.read_only.unwrap();
    assert!(reason.contains("the journal was rewritten"), "{reason}");
    assert!(reason.contains(said), "{reason}");
    assert_eq!(report.shelf, ShelfFound::Ahead);
    let refused = take(&desk, new_car("saloon")).await;
    assert!(matches!(refused, Err(DeskError::ReadOnly { .. })));
    let verified = desk.verify().await.unwrap();
    assert_eq!(verified.findings, [reason.to_string()], "told once");
    assert_eq!(verified.first_bad, Some(Seq(first)));
    desk.close().await.unwrap();
    // What was found is remembered; the next case is found by itself.
    fs::remove_file(world.path().join("damaged.json")).unwrap();
}

#[tokio::test]
async fn a_rewritten_journal_opens_read_only_and_says_from_where_it_was_rewritten() {
    let world = World::new().with_counts(COUNTS).await;
    let whole = world.journal();
    // The only thing changed is what was counted: only chain values show it.
    fs::write(world.segment(), rewritten(&whole, 100, recounted)).unwrap();
    assert_opens_read_only(
        &world,
        66,
        "entry 66 of the journal, or one of those up to entry 129,",
    )
    .await;
    // The shelf knows no such request: the entry itself can be named.
    let other = rewritten(&whole, 100, of_another_request);
    fs::write(world.segment(), other).unwrap();
    assert_opens_read_only(
        &world,
        66,
        "entry 66 of the journal, or one of those up to entry 100,",
    )
    .await;
    let other = rewritten(&whole, 66, of_another_request);
    fs::write(world.segment(), other).unwrap();
    assert_opens_read_only(&world, 66, "entry 66 of the journal is not").await;
}

#[tokio::test]
async fn the_last_entry_rewritten_is_told_as_well() {
    let world = World::new().with_counts(COUNTS).await;
    let last = COUNTS as usize + 2;
    fs::write(
        world.segment(),
        rewritten(&world.journal(), last, recounted),
    )
    .unwrap();
    assert_opens_read_only(
        &world,
        130,
        "entry 130 of the journal, or one of those up to entry 152,",
    )
    .await;
}

/// The story: the file is rewritten while a service has it open.
#[tokio::test]
async fn verifying_an_open_book_tells_that_its_journal_was_rewritten() {
    let world = World::new().with_counts(COUNTS).await;
    let whole = world.journal();
    let desk = world.open();
    fs::write(world.segment(), rewritten(&whole, 100, recounted)).unwrap();
    let verified = desk.verify().await.unwrap();
    assert_eq!(verified.first_bad, Some(Seq(66)), "{verified:?}");
    let said = &verified.findings[0];
    assert!(
        said.contains("entry 66 of the journal, or one of those up to entry 129,"),
        "{said}"
    );
    desk.close().await.unwrap();
}

/// With the shelf made anew from the rewritten journal, only who has seen the old one knows.
#[tokio::test]
async fn a_client_that_saw_the_journal_before_it_was_rewritten_is_believed() {
    let world = World::new().with_counts(COUNTS).await;
    let before = world.with(async |desk| desk.standing()).await;
    fs::write(world.segment(), rewritten(&world.journal(), 100, recounted)).unwrap();
    fs::remove_dir_all(world.path().join("shelf")).unwrap();
    let desk = world.open();
    let Head { seq, chain } = before.head;
    let seen = Seen {
        incarnation_id: before.identity.incarnation_id,
        head: Head { seq, chain },
    };
    let found = desk.compare(seen, "solo", true).await.unwrap();
    assert_eq!(found, Compared::Different { seen: seq });
    let (_, reason) = found.fault().unwrap();
    assert!(reason.contains("was rewritten"), "{reason}");
    let refused = take(&desk, new_car("saloon")).await;
    assert!(matches!(refused, Err(DeskError::ReadOnly { .. })));
    desk.close().await.unwrap();
}
