//! A book that is begun on a disk that fails at any step: it is begun, or nothing was.
//!
//! The file that says which book it is gets its name by a rename, which a loss of power may undo until
//! the folder was synced. Whatever is left must open, and keep its identity from then on.

use std::sync::Arc;

use uuid::Uuid;

use super::{assert_whole, take};
use crate::desk::{Desk, DeskOptions, SystemClock};
use crate::limits::SEGMENT_BYTES_MAX;
use crate::store::Store;
use crate::testing::faulty::FAULTS;
use crate::testing::new_car;
use crate::testing::stores::{Kind, on_every_store};

/// Begins a book, records one entry and closes it; `None` when the disk did not let it.
async fn begin(store: Arc<dyn Store>, id: u128) -> Option<Uuid> {
    let options = DeskOptions::new(Arc::new(SystemClock), Uuid::from_u128(id));
    let (desk, report) = Desk::open(store, &options).ok()?;
    let id = desk.standing().identity.book_id;
    let recorded = take(&desk, new_car("saloon")).await;
    desk.close().await.unwrap();
    (report.read_only.is_none() && recorded.is_ok()).then_some(id)
}

async fn a_book_is_begun_once_or_not_at_all(kind: &Kind) {
    let whole = kind.breaking.unwrap()(0, SEGMENT_BYTES_MAX);
    assert!(begin(whole.store(), 1).await.is_some());
    let mut begun_anew = 0;
    for fault in FAULTS {
        for at in 0..whole.operation_count() {
            for seed in 0..4 {
                let story = format!("{fault:?} at operation {at}, seed {seed}");
                let broken = kind.breaking.unwrap()(seed, SEGMENT_BYTES_MAX);
                broken.fail_after(at, fault);
                let first = begin(broken.store(), 1).await;
                broken.recover();
                let options = DeskOptions::new(Arc::new(SystemClock), Uuid::from_u128(2));
                let (desk, report) = Desk::open(broken.store(), &options).unwrap();
                assert_eq!(report.read_only, None, "{story}");
                let (id, head) = (desk.standing().identity.book_id, desk.book().head().0);
                begun_anew += u64::from(id == Uuid::from_u128(2));
                if first.is_some() {
                    assert_eq!((first, head), (Some(id), 1), "{story}");
                }
                assert_whole(&desk, head).await;
                desk.close().await.unwrap();
                let (desk, _) = Desk::open(broken.store(), &options).unwrap();
                assert_eq!(desk.standing().identity.book_id, id, "{story}");
                desk.close().await.unwrap();
            }
        }
    }
    assert!(begun_anew > 10, "the faults hit nothing");
}

on_every_store!(breaking async a_book_is_begun_once_or_not_at_all);
