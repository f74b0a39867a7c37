//! A book in which a later program wrote is no damaged book: it is looked at, up to there, and nothing
//! is written.

use std::fs;

use fettlebook_model::{Format, Seq};

use super::{World, take};
use crate::desk::{Compared, Desk, DeskError, Seen};
use crate::journal::survey;
use crate::testing::{append_raw, count_gloves, later_entry, raw_entry};

/// A book of five entries, and behind them what a later program wrote.
async fn later(entries: &[&str]) -> World {
    let world = World::new().with_counts(3).await;
    append_raw(world.path(), entries);
    world
}

/// Asserts that the book ends for this program before entry 6, is not damaged, and takes nothing.
async fn assert_newer(world: &World, desk: &Desk) {
    let before = fs::read(world.segment()).unwrap();
    assert_eq!(desk.book().head(), Seq(5));
    let error = take(desk, count_gloves(7)).await.unwrap_err();
    let DeskError::NewerThanThis { reason } = &error else {
        panic!("{error:?}");
    };
    assert!(reason.starts_with("entry 6 of the journal was written by a later fettle"));
    assert!(reason.ends_with("update this one"), "{reason}");
    let verified = desk.verify().await.unwrap();
    assert_eq!((verified.newer, verified.first_bad), (Some(Seq(6)), None));
    assert_eq!(verified.findings, [reason.to_string()]);
    assert_eq!(verified.entry_count, 5);
    assert_eq!(fs::read(world.segment()).unwrap(), before);
}

/// The member of an entry that says a format which is not read here.
fn of_a_later_format() -> String {
    let newest: u32 = Format::NEWEST.to_string().parse().unwrap();
    format!("\"format\":{},", newest + 1)
}

#[tokio::test]
async fn a_kind_of_deed_or_a_format_that_is_not_known_here_is_no_damage() {
    let format = raw_entry(
        &of_a_later_format(),
        r#"[{"did":"washed","tags":["S-01"]}]"#,
    );
    let other = raw_entry(&of_a_later_format(), r#"{"washed":["S-01"]}"#);
    for later_one in [later_entry(), format, other] {
        let world = later(&[&later_one]).await;
        // From the shelf, and from the journal alone.
        for _ in 0..2 {
            let (desk, report) = world.try_open().unwrap();
            assert!(report.read_only.is_some());
            assert_newer(&world, &desk).await;
            desk.close().await.unwrap();
            fs::remove_dir_all(world.path().join("shelf")).unwrap();
        }
    }
}

/// It has a format that this program reads, or none, and still makes no sense.
#[tokio::test]
async fn an_entry_that_no_program_wrote_is_damage() {
    for spoilt in [
        raw_entry("", r#"[{"did":"washed"}]"#),
        raw_entry("\"format\":0,", "[]"),
        "{\"deeds\":7}".to_owned(),
    ] {
        let world = later(&[&spoilt]).await;
        let desk = world.open();
        let verified = desk.verify().await.unwrap();
        assert_eq!((verified.newer, verified.first_bad), (None, Some(Seq(6))));
        let refused = take(&desk, count_gloves(7)).await.unwrap_err();
        assert!(matches!(refused, DeskError::ReadOnly { .. }), "{refused:?}");
        desk.close().await.unwrap();
    }
}

#[tokio::test]
async fn damage_behind_the_entry_of_a_later_program_is_damage() {
    let world = later(&[&later_entry(), &later_entry()]).await;
    let mut bytes = fs::read(world.segment()).unwrap();
    let at = bytes.len() - 30;
    bytes[at] ^= 1;
    fs::write(world.segment(), bytes).unwrap();
    let desk = world.open();
    let verified = desk.verify().await.unwrap();
    assert_eq!((verified.newer, verified.first_bad), (None, Some(Seq(7))));
    let refused = take(&desk, count_gloves(7)).await.unwrap_err();
    assert!(matches!(refused, DeskError::ReadOnly { .. }), "{refused:?}");
    desk.close().await.unwrap();
}

/// Who worked with the later program has seen further, and rightly so.
#[tokio::test]
async fn what_a_client_saw_with_a_later_program_is_not_missing() {
    let world = later(&[&later_entry(), &later_entry()]).await;
    let journal = world.path().join("journal");
    let end = survey(&journal, None, &mut |_| Ok(())).unwrap().head;
    let desk = world.open();
    let seen = Seen {
        incarnation_id: world.options.new_book_id,
        head: end.clone(),
    };
    let found = desk.compare(seen.clone(), "bench", true).await.unwrap();
    assert_eq!(found, Compared::Agrees);
    assert_newer(&world, &desk).await;
    let mut further = seen;
    further.head.seq = Seq(9);
    let found = desk.compare(further, "bench", true).await.unwrap();
    let (seen, head) = (Seq(9), Seq(7));
    assert_eq!(found, Compared::Missing { seen, head });
    desk.close().await.unwrap();
}

/// Nothing of it is understood, and all of it is kept.
#[tokio::test]
async fn a_backup_holds_what_a_later_program_wrote_too() {
    let world = later(&[&later_entry(), &later_entry()]).await;
    let desk = world.open();
    let mut parts = desk.backup().unwrap();
    let (mut journal, mut manifest) = (Vec::new(), Vec::new());
    while let Some(part) = parts.recv().await {
        let part = part.unwrap();
        if part.file == "backup.json" {
            manifest.extend(part.content);
        } else {
            journal.extend(part.content);
        }
    }
    assert_eq!(journal, fs::read(world.segment()).unwrap());
    let manifest: serde_json::Value = serde_json::from_slice(&manifest).unwrap();
    assert_eq!(manifest["head"]["seq"], 7);
    desk.close().await.unwrap();
}
