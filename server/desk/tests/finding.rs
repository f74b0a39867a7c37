//! Damage that somebody comes upon while the book is used: from then on nothing is recorded, by this
//! process or a later one.

use std::fs;

use fettlebook_model::Seq;

use super::{World, assert_whole, take};
use crate::desk::{Desk, DeskError, Seen};
use crate::journal::RealDisk;
use crate::journal::{Chain, Head};
use crate::store::Identity;
use crate::store::folder::write_identity;
use crate::testing::{new_car, order, reverse};

/// Changes entry 4 of a book of seven.
fn change_entry_4(world: &World) {
    let changed = world
        .journal()
        .replacen("\"left_quantity\":1", "\"left_quantity\":9", 1);
    fs::write(world.segment(), changed).unwrap();
}

/// Ways of coming upon a changed entry.
const FINDERS: [&str; 6] = [
    "reading one",
    "listing",
    "watching",
    "a backup",
    "verifying",
    "looking back",
];

async fn come_upon_it(desk: &Desk, how: &str) {
    match how {
        "reading one" => drop(desk.entry(Seq(4)).await.unwrap_err()),
        "listing" => drop(desk.entries(None, false, None, 100).await.unwrap_err()),
        "watching" => drop(desk.follow(Seq(0)).unwrap().next().await.unwrap_err()),
        "a backup" => {
            let mut parts = desk.backup().unwrap();
            while let Some(part) = parts.recv().await {
                if part.is_err() {
                    return;
                }
            }
            panic!("the backup is whole");
        }
        "verifying" => assert_eq!(desk.verify().await.unwrap().first_bad, Some(Seq(4))),
        _ => drop(desk.submit(order(reverse(4))).await.unwrap_err()),
    }
}

/// The reason for which a car is not recorded.
async fn refused(desk: &Desk) -> String {
    match take(desk, new_car("saloon")).await {
        Err(DeskError::ReadOnly { reason }) => reason.to_string(),
        other => panic!("{other:?}"),
    }
}

#[tokio::test]
async fn whoever_comes_upon_damage_stops_the_book_for_good() {
    for how in FINDERS {
        let world = World::new().with_counts(5).await;
        let desk = world.open();
        change_entry_4(&world);
        let harmed = world.journal();
        come_upon_it(&desk, how).await;
        let reason = refused(&desk).await;
        assert!(reason.contains("entry 4 of the journal"), "{how}: {reason}");
        desk.close().await.unwrap();
        assert!(world.journal().starts_with(&harmed), "{how}");
        // A shelf that is built anew has never seen what is gone.
        fs::remove_dir_all(world.path().join("shelf")).unwrap();
        let (desk, report) = world.try_open().unwrap();
        assert_eq!(report.read_only.as_deref(), Some(&*reason), "{how}");
        assert_eq!(refused(&desk).await, reason, "{how}");
        assert_eq!(
            desk.verify().await.unwrap().first_bad,
            Some(Seq(4)),
            "{how}"
        );
        desk.close().await.unwrap();
    }
}

/// Only the client can tell: the journal is a true beginning of what it was, and stays so.
#[tokio::test]
async fn what_a_client_has_seen_further_is_remembered() {
    let world = World::new().with_counts(5).await;
    let desk = world.open();
    let seen = Seen {
        incarnation_id: desk.standing().identity.incarnation_id,
        head: Head {
            seq: Seq(9),
            chain: Chain::ZERO,
        },
    };
    desk.compare(seen, "solo", true).await.unwrap();
    let reason = refused(&desk).await;
    desk.close().await.unwrap();
    for _ in 0..2 {
        let desk = world.open();
        assert_eq!(refused(&desk).await, reason);
        assert_eq!(desk.verify().await.unwrap().first_bad, Some(Seq(8)));
        desk.close().await.unwrap();
    }
    let text = fs::read_to_string(world.path().join("damaged.json")).unwrap();
    let file: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!(file["found_by"], "solo");
    assert_eq!(file["first_bad_seq"], 8);
}

#[tokio::test]
async fn a_finding_about_another_incarnation_counts_for_nothing() {
    let world = World::new().with_counts(5).await;
    let desk = world.open();
    change_entry_4(&world);
    come_upon_it(&desk, "listing").await;
    desk.close().await.unwrap();
    let set_right = world
        .journal()
        .replacen("\"left_quantity\":9", "\"left_quantity\":1", 1);
    fs::write(world.segment(), set_right).unwrap();
    let id = world.options.new_book_id;
    let mended = Identity {
        incarnation_id: uuid::Uuid::now_v7(),
        since: Seq(7),
        ..Identity::begun(id)
    };
    write_identity(world.path(), &mended, &RealDisk).unwrap();
    let desk = world.open();
    take(&desk, new_car("saloon")).await.unwrap();
    assert_whole(&desk, 8).await;
    desk.close().await.unwrap();
}

#[tokio::test]
async fn a_finding_that_cannot_be_read_counts_all_the_same() {
    let world = World::new().with_counts(5).await;
    let desk = world.open();
    change_entry_4(&world);
    come_upon_it(&desk, "listing").await;
    desk.close().await.unwrap();
    let path = world.path().join("damaged.json");
    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, text.replacen("entry 4", "entry 5", 1)).unwrap();
    let desk = world.open();
    assert!(refused(&desk).await.contains("damaged.json"));
    desk.close().await.unwrap();
}

/// A place on the shelf that is wrong leads a reader astray; the journal is whole.
#[tokio::test]
async fn a_reader_that_was_led_astray_stops_nothing() {
    let world = World::new().with_counts(5).await;
    let desk = world.open();
    let error = DeskError::Damaged {
        what: "entry 4 of the journal is not where it was".to_owned(),
    };
    let history = desk.shared.history.load_full().unwrap();
    (desk.shared).look_into(&error, history.reader.as_ref(), "reading");
    assert_eq!(desk.standing().read_only, None);
    take(&desk, new_car("saloon")).await.unwrap();
    desk.close().await.unwrap();
}
