//! Keeping books: backups, restoring from them, mending what was damaged, copies on devices; and the
//! outbox of a device, which is a journal too.
//!
//! It serves the person whose book must outlive a disk. It works on folders that nobody has open:
//! it never writes into what it reads from, and what it writes cannot be opened before it is whole.

mod accept_end;
mod backup;
mod compare_backup;
mod copy;
mod damaged_lines;
mod error;
#[cfg(feature = "postgres")]
mod in_engine;
mod kept;
mod leave_out;
mod mend;
#[cfg(feature = "postgres")]
mod moving;
mod new_book;
mod new_folder;
mod outbox;
mod restore;
mod row;
#[cfg(test)]
mod tests;

pub use accept_end::accept_end;
pub(crate) use backup::said;
pub use backup::{BackupFolder, verify_backup};
pub use compare_backup::{BackupComparison, BookSaid};
pub use copy::{copy_of, copy_standing, extend_copy};
pub use error::KeepError;
#[cfg(feature = "postgres")]
pub use in_engine::{
    InEngineError, MendInEngine, MendedInEngine, RestoredInEngine, mend_in_engine,
    restore_in_engine,
};
pub use mend::mend;
#[cfg(feature = "postgres")]
pub use moving::{MoveError, MovedBook, move_down, move_up};
pub use outbox::{Outbox, OutboxHold, hold_outbox, replace_outbox, rescue_outbox};
pub use restore::{Restored, restore};
pub use row::{BackupRow, Pruned};

/// A new incarnation id.
pub fn new_incarnation() -> uuid::Uuid {
    uuid::Uuid::now_v7()
}

/// A count as the contract's numbers have it.
pub(crate) fn whole(count: u64) -> i64 {
    i64::try_from(count).unwrap_or(i64::MAX)
}
