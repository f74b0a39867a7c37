//! Bringing a book back from a backup, into an engine.
//!
//! It serves whoever lost the book. The backup is verified before anything is written, and is only read.

use std::path::Path;

use super::InEngineError;
use crate::desk::Manifest;
use crate::journal::{FileReader, Head, Position, Reader as _};
use crate::keep::backup::verify_backup;
use crate::keep::{KeepError, new_incarnation};
use crate::store::folder::journal_folder;
use crate::store::{EngineBook, Identity, Moved, StoreError};

/// A book that was brought back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RestoredInEngine {
    /// What the backup held, and the book holds now.
    pub backup: Manifest,
    /// Where it is, for people.
    pub place: String,
    /// Where it had gone from there before; none where it never was there.
    pub went: Option<Moved>,
}

/// Restores the backup in `from` into an engine, as another life of its book. It is called so where it was never
/// there.
///
/// # Errors
/// When the backup is not whole, the book is there already or on its way to elsewhere, or the engine cannot be
/// used. Nothing was changed then, unless it is said that the outcome is not known.
pub fn restore_in_engine(
    from: &Path,
    to: &EngineBook<'_>,
    name: Option<&str>,
) -> Result<RestoredInEngine, InEngineError> {
    let place = to.place()?;
    let backup = verify_backup(from)?;
    let identity = Identity {
        book_id: backup.book_id,
        incarnation_id: new_incarnation(),
        since: backup.head.seq,
    };
    let mut arrival = to.arrival(identity, name)?;
    let went = arrival.went()?;
    if let Some(moved) = went.as_ref().filter(|moved| !moved.arrived) {
        let moved = moved.clone();
        return Err(StoreError::Moved { place, moved }.into());
    }
    let mut head = Head::EMPTY;
    for line in FileReader::new(journal_folder(from)).read(Position::START, backup.head.seq)? {
        let line = line?;
        head = Head {
            seq: line.mark.at.seq,
            chain: head.chain.link(&line.entry),
        };
        arrival.take(&head, line.entry)?;
    }
    if head != backup.head {
        let folder = from.to_owned();
        return Err(KeepError::ChangedMeanwhile { folder }.into());
    }
    arrival.end()?;
    match arrival.commit() {
        Ok(true) => Ok(RestoredInEngine {
            backup,
            place,
            went,
        }),
        Ok(false) => Err(InEngineError::NotTaken { place }),
        Err(why) => Err(InEngineError::Unknown { place, why }),
    }
}
