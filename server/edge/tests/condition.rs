//! How the service says that it stands, and what it is told of backups.

use fettlebook_contract::v1;

use super::{Answered as _, NOW, START, World, assert_told, stamp};

fn noted(made_time: &str, head_seq: i64) -> v1::NoteBackupRequest {
    v1::NoteBackupRequest {
        made_time: stamp(made_time),
        head_seq,
    }
}

#[tokio::test]
async fn the_newest_backup_that_was_found_whole_is_told_and_one_that_cannot_be_is_refused() {
    let world = World::shop().await;
    let mut book = world.book();
    let condition = v1::GetConditionRequest {};
    let before = book.get_condition(condition).answer().await;
    assert_eq!(before.newest_entry_time, stamp(NOW));
    assert_eq!(
        (before.backup_time, before.unsaved_count),
        (None, before.head_seq)
    );
    assert_eq!(before.shelf(), v1::ShelfCondition::InUse);
    assert!(before.journal_bytes > 0 && before.shelf_bytes > 0);
    assert_eq!(before.certificate_end_time, None);

    let yesterday = "2026-06-02T18:00:00Z";
    book.note_backup(noted(NOW, before.head_seq - 2))
        .await
        .unwrap();
    // One that was made before is heard of later, and says nothing.
    book.note_backup(noted(yesterday, 1)).await.unwrap();
    for (request, reason, field) in [
        (noted(START, 1), "TIME_FUTURE", "made_time"),
        (noted(NOW, before.head_seq + 1), "ENTRY_UNKNOWN", "head_seq"),
        (noted(NOW, -1), "QUANTITY_INVALID", "head_seq"),
        (
            v1::NoteBackupRequest::default(),
            "FIELD_MISSING",
            "made_time",
        ),
    ] {
        let refused = book.note_backup(request).await.unwrap_err();
        assert_told(&refused, reason, field);
    }
    let after = book.get_condition(condition).answer().await;
    assert_eq!((after.backup_time, after.unsaved_count), (stamp(NOW), 2));
    assert_eq!(
        (after.verified_time, after.unverified_count),
        (None, after.head_seq)
    );

    book.verify_book(v1::VerifyBookRequest {}).await.unwrap();
    let verified = book.get_condition(condition).answer().await;
    assert_eq!(
        (verified.verified_time, verified.unverified_count),
        (stamp(NOW), 0)
    );
}
