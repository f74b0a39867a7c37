//! A backup is a copy of the journal up to the head at its beginning, whatever happens meanwhile.

use sha2::{Digest, Sha256};

use super::{World, take};
use crate::desk::{Backup, DeskError, Manifest, Part};
use crate::limits::BACKUP_PART_BYTES_MAX;
use crate::testing::{count_gloves, new_car};

/// The journal's bytes as they come, and the manifest.
async fn taken(mut parts: Backup) -> Result<(Vec<u8>, Manifest), DeskError> {
    let (mut journal, mut manifest) = (Vec::new(), Vec::new());
    while let Some(part) = parts.recv().await {
        let Part { file, content } = part?;
        assert!(content.len() <= BACKUP_PART_BYTES_MAX);
        match file.as_str() {
            "backup.json" => manifest.extend(content),
            "journal/000000000001.jsonl" => journal.extend(content),
            other => panic!("{other}"),
        }
    }
    Ok((journal, serde_json::from_slice(&manifest).unwrap()))
}

#[tokio::test]
async fn what_is_recorded_meanwhile_is_not_in_it_and_the_rest_is_byte_for_byte() {
    // More than the parts that are read ahead hold.
    let world = World::new().with_counts(3_600).await;
    let before = world.journal();
    assert!(before.len() > 4 * BACKUP_PART_BYTES_MAX);
    let desk = world.open();
    let head = desk.standing().head;
    let parts = desk.backup().unwrap();
    for left in 0..5 {
        take(&desk, count_gloves(left)).await.unwrap();
    }
    let (journal, manifest) = taken(parts).await.unwrap();
    assert!(journal == before.as_bytes());
    assert_eq!(manifest.head, head);
    assert_eq!(manifest.byte_count(), before.len() as u64);
    let sum = Sha256::digest(before);
    assert_eq!(manifest.files[0].sha256, format!("{sum:x}"));
    desk.close().await.unwrap();
}

#[tokio::test]
async fn a_backup_of_an_empty_book_has_a_manifest_and_no_file() {
    let world = World::new();
    let desk = world.open();
    let (journal, manifest) = taken(desk.backup().unwrap()).await.unwrap();
    assert!(journal.is_empty() && manifest.files.is_empty());
    assert_eq!(manifest.book_id, world.options.new_book_id);
    desk.close().await.unwrap();
}

#[tokio::test]
async fn a_line_that_was_changed_ends_the_backup_and_is_named() {
    let mut world = World::new().with_counts(5).await;
    world.options.audit_bytes_max = 0;
    let desk = world.open();
    take(&desk, new_car("saloon")).await.unwrap();
    let changed = world
        .journal()
        .replacen("\"left_quantity\":1", "\"left_quantity\":9", 1);
    std::fs::write(world.segment(), changed).unwrap();
    let error = taken(desk.backup().unwrap()).await.unwrap_err();
    assert!(
        error.to_string().contains("entry 4 of the journal"),
        "{error}"
    );
    desk.close().await.unwrap();
}
