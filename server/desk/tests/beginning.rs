//! A book that is begun on a disk that fails at any step: it is begun, or nothing was.
//!
//! The file that says which book it is gets its name by a rename, which a loss of power may undo until
//! the folder was synced. Whatever is left must open, and keep its identity from then on.

use std::path::Path;
use std::sync::Arc;

use uuid::Uuid;

use super::{assert_whole, take};
use crate::desk::{Desk, DeskOptions, SystemClock};
use crate::store::FolderStore;
use crate::testing::faulty::{FAULTS, FaultyDisk};
use crate::testing::new_car;

/// Begins a book, records one entry and closes it; `None` when the disk did not let it.
async fn begin(folder: &Path, disk: &FaultyDisk, id: u128) -> Option<Uuid> {
    let options = DeskOptions::new(Arc::new(SystemClock), Uuid::from_u128(id));
    let store = FolderStore::at(folder).on(Arc::new(disk.clone()));
    let (desk, report) = Desk::open(Arc::new(store), &options).ok()?;
    let id = desk.standing().identity.book_id;
    let recorded = take(&desk, new_car("saloon")).await;
    desk.close().await.unwrap();
    (report.read_only.is_none() && recorded.is_ok()).then_some(id)
}

#[tokio::test]
async fn a_book_is_begun_once_or_not_at_all() {
    let whole = FaultyDisk::new(0);
    let folder = tempfile::tempdir().unwrap();
    assert!(begin(folder.path(), &whole, 1).await.is_some());
    let mut begun_anew = 0;
    for fault in FAULTS {
        for at in 0..whole.operation_count() {
            for seed in 0..4 {
                let story = format!("{fault:?} at operation {at}, seed {seed}");
                let (folder, disk) = (tempfile::tempdir().unwrap(), FaultyDisk::new(seed));
                disk.fail_after(at, fault);
                let first = begin(folder.path(), &disk, 1).await;
                disk.recover();
                let options = DeskOptions::new(Arc::new(SystemClock), Uuid::from_u128(2));
                let stored = || Arc::new(FolderStore::at(folder.path()));
                let (desk, report) = Desk::open(stored(), &options).unwrap();
                assert_eq!(report.read_only, None, "{story}");
                let (id, head) = (desk.standing().identity.book_id, desk.book().head().0);
                begun_anew += u64::from(id == Uuid::from_u128(2));
                if first.is_some() {
                    assert_eq!((first, head), (Some(id), 1), "{story}");
                }
                assert_whole(&desk, head).await;
                desk.close().await.unwrap();
                let (desk, _) = Desk::open(stored(), &options).unwrap();
                assert_eq!(desk.standing().identity.book_id, id, "{story}");
                desk.close().await.unwrap();
            }
        }
    }
    assert!(begun_anew > 10, "the faults hit nothing");
}
