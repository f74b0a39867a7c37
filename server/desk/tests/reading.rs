//! Reading back: lists page in both directions, and verifying finds what was tampered with.

use std::fs;

use fettlebook_model::{Seq, Subject};

use super::{World, assert_whole, take};
use crate::desk::{Desk, DeskError};
use crate::testing::stores::{Kind, on_every_store};
use crate::testing::{count_gloves, new_car};

/// All entries of a list, a page at a time.
async fn pages(desk: &Desk, about: Option<Subject>, newest_first: bool, page: usize) -> Vec<u64> {
    let (mut all, mut after) = (Vec::new(), None);
    loop {
        let entries = desk
            .entries(about.clone(), newest_first, after, page)
            .await
            .unwrap();
        let Some(last) = entries.last() else {
            return all;
        };
        after = Some(last.seq);
        all.extend(entries.iter().map(|entry| entry.seq.0));
    }
}

async fn lists_page_in_both_directions_across_batches_of_the_shelf(kind: &Kind) {
    let world = World::on(kind).with_counts(100).await;
    world
        .with(async |desk| {
            for n in 0..60 {
                take(desk, new_car(&format!("car-{n}"))).await.unwrap();
                take(desk, count_gloves(n)).await.unwrap();
            }
            let gloves: Subject = "piece/S-01".parse().unwrap();
            let all: Vec<u64> = (1..=222).collect();
            let touched: Vec<u64> = (2..=102).chain((104..=222).step_by(2)).collect();
            for (about, expected) in [(None, all), (Some(gloves), touched)] {
                let newest: Vec<u64> = expected.iter().rev().copied().collect();
                for page in [1, 7, 64, 1000] {
                    assert_eq!(pages(desk, about.clone(), false, page).await, expected);
                    assert_eq!(pages(desk, about.clone(), true, page).await, newest);
                }
            }
            let unknown = Some("piece/S-02".parse().unwrap());
            assert!(
                desk.entries(unknown, false, None, 10)
                    .await
                    .unwrap()
                    .is_empty()
            );
            assert!(desk.entries(None, false, None, 0).await.unwrap().is_empty());
            assert_whole(desk, 222).await;
        })
        .await;
}

async fn each_entry_is_found_by_its_number(kind: &Kind) {
    let world = World::on(kind).with_counts(150).await;
    world
        .with(async |desk| {
            for seq in [1, 2, 63, 64, 65, 66, 128, 129, 152] {
                assert_eq!(desk.entry(Seq(seq)).await.unwrap().seq, Seq(seq));
            }
            for seq in [0, 153, u64::MAX] {
                let unknown = DeskError::EntryUnknown { seq: Seq(seq) };
                assert_eq!(desk.entry(Seq(seq)).await, Err(unknown));
            }
        })
        .await;
}

async fn what_was_just_answered_is_in_every_list(kind: &Kind) {
    let world = World::on(kind).with_counts(0).await;
    world
        .with(async |desk| {
            for left in 0..20 {
                let entry = take(desk, count_gloves(left)).await.unwrap();
                let about = Some("piece/S-01".parse().unwrap());
                let newest = desk.entries(about, true, None, 1).await.unwrap();
                assert_eq!(newest, [(*entry).clone()]);
                assert_eq!(desk.entry(entry.seq).await.unwrap(), *entry);
            }
        })
        .await;
}

#[tokio::test]
async fn verifying_names_an_entry_changed_under_an_open_book() {
    let world = World::new().with_counts(5).await;
    world
        .with(async |desk| {
            let changed = world
                .journal()
                .replacen("\"left_quantity\":3", "\"left_quantity\":8", 1);
            fs::write(world.segment(), changed).unwrap();
            let verified = desk.verify().await.unwrap();
            assert_eq!(verified.entry_count, 5);
            assert!(
                verified.findings[0].contains("entry 6 of the journal"),
                "{verified:?}"
            );
        })
        .await;
}

#[tokio::test]
async fn verifying_finds_a_record_that_does_not_follow_from_the_journal() {
    let world = World::new().with_counts(5).await;
    let tamper = |key: &str, value: Option<&[u8]>| {
        let db = sled::open(world.path().join("shelf")).unwrap();
        let records = db.open_tree("records").unwrap();
        match value {
            Some(value) => records.insert(key, value).unwrap(),
            None => records.remove(key).unwrap(),
        };
        db.flush().unwrap();
    };
    let other = {
        let db = sled::open(world.path().join("shelf")).unwrap();
        let records = db.open_tree("records").unwrap();
        records.get("piece/S-01").unwrap().unwrap()
    };
    take_one_car(&world).await;
    tamper("piece/S-02", Some(&other));
    tamper("car/saloon", None);
    world
        .with(async |desk| {
            let verified = desk.verify().await.unwrap();
            let findings = verified.findings.join("\n");
            assert!(findings.contains("car/saloon"), "{findings}");
            assert!(findings.contains("piece/S-02"), "{findings}");
        })
        .await;
}

async fn take_one_car(world: &World) {
    world
        .with(async |desk| take(desk, new_car("saloon")).await.unwrap())
        .await;
}

on_every_store!(
    async lists_page_in_both_directions_across_batches_of_the_shelf,
    each_entry_is_found_by_its_number,
    what_was_just_answered_is_in_every_list,
);
