//! A person says where the journal of a book ends, where nothing else tells.
//!
//! Nothing is lost by it: what stands behind the end is put aside in the journal's folder `cut-off`,
//! byte for byte.

use std::path::Path;
use std::sync::Arc;

use fettlebook_model::Seq;

use super::error::{KeepError, failed};
use crate::desk::{Clock as _, SystemClock};
use crate::journal::{
    ClosedPlace, FileJournal, Journal as _, RealDisk, TornTail, make_certain, survey,
};
use crate::limits::{LOCK_WAIT_MAX, SEGMENT_BYTES_MAX};
use crate::store::folder::{self, journal_folder, lock_folder};
use crate::store::{FolderStore, Store as _};

/// Takes an entry for the last one of a book, and gives how many bytes behind it were put aside.
///
/// # Errors
/// When that entry is not where the journal ends, nothing stands behind it or the journal is damaged,
/// another process has the book, or the disk fails. Nothing was changed then.
pub fn accept_end(folder: &Path, last: u64) -> Result<u64, KeepError> {
    let journal = journal_folder(folder);
    let identity = FolderStore::at(folder)
        .identity()?
        .filter(|_| journal.is_dir());
    let identity = identity.ok_or_else(|| KeepError::NotABook {
        folder: folder.to_owned(),
    })?;
    let _held = lock_folder(folder, SystemClock.now(), LOCK_WAIT_MAX)?;
    make_certain(&journal, &RealDisk, None).map_err(|uncertain| uncertain.error)?;
    let found = survey(&journal, None, &mut |_| Ok(()))?;
    if let Some(damage) = &found.damage {
        let folder = folder.to_owned();
        return Err(KeepError::EndNotOpen {
            folder,
            what: damage.to_string(),
        });
    }
    let torn = found.torn.clone().filter(|_| found.head.seq == Seq(last));
    let Some(TornTail::Cut { byte_count, .. }) = torn else {
        let what = match found.head.seq {
            end if end == Seq(last) => format!("nothing stands behind entry {end}"),
            end => format!("the journal ends with entry {end}"),
        };
        let folder = folder.to_owned();
        return Err(KeepError::EndNotOpen { folder, what });
    };
    let disk = Arc::new(RealDisk);
    let mut ended = FileJournal::open(journal, disk, &found, SEGMENT_BYTES_MAX)?;
    ended.marked_in(ClosedPlace {
        folder: folder.to_owned(),
        owner: identity.incarnation_id,
    });
    ended.close()?;
    folder::sync_folder(folder).map_err(failed("syncing", folder))?;
    Ok(byte_count)
}
