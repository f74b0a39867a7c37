//! Opening the copy of a shop's book, which is read like a book and never written to.
//!
//! It serves a device without a signal. A copy that is damaged is not looked at: it can be had again.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use super::{DeskOptions, OpenReport, catch_up, restore, start};
use crate::desk::Desk;
use crate::desk::audit;
use crate::desk::copy::{CopyNote, CopyOf};
use crate::desk::error::OpenError;
use crate::shelf::{ShelfSize, Source};
use crate::store::folder::{COPY_FILE, journal_folder, lock_folder, refuse_another_book};
use crate::store::{FolderStore, Store};

/// Opens the copy in a folder: read like a book, written never.
pub(in crate::desk) fn open_copy(
    folder: &Path,
    options: &DeskOptions,
) -> Result<(Desk, CopyOf, OpenReport), OpenError> {
    let no_copy = || OpenError::NoCopy {
        folder: folder.to_owned(),
    };
    if !folder.join(COPY_FILE).is_file() {
        return Err(no_copy());
    }
    let store: Arc<dyn Store> = Arc::new(FolderStore::at(folder));
    let lock = lock_folder(folder, options.clock.now(), options.lock_wait)?;
    let note = CopyNote::read(folder)?.filter(|note| note.end.is_some());
    let note = note.ok_or_else(no_copy)?;
    let identity = note.identity();
    let right = FolderStore::at(folder).held(identity, lock);
    let restored = restore(
        &store.shelf_folder(),
        ShelfSize::Alone,
        identity.incarnation_id,
    )?;
    let reader = right.reader();
    let source = Source {
        folder: store.shelf_folder(),
        size: ShelfSize::Alone,
        owner: identity.incarnation_id,
        reader: Arc::clone(&reader),
    };
    let mut found = catch_up(source, restored, None)?;
    if let (None, Some(newer)) = (found.first_bad, &found.survey.newer) {
        let what = newer.to_string();
        if let Some(keeper) = found.keeper.take() {
            keeper.close();
        }
        let folder = folder.to_owned();
        return Err(OpenError::NewerCopy { folder, what });
    }
    let head = found.survey.head.clone();
    let fault = || {
        let is_short = is_short(&journal_folder(folder), options.audit_bytes_max);
        let fault = is_short.then(|| audit::fault_before(reader.as_ref(), &head));
        fault.flatten().map(|fault| fault.reason.into())
    };
    let other = || {
        let another = refuse_another_book(folder, identity.book_id).is_err();
        another.then(|| "its entries are of another book".into())
    };
    let damage = found.read_only.clone().or_else(fault).or_else(other);
    if let Some(what) = damage {
        if let Some(keeper) = found.keeper.take() {
            keeper.close();
        }
        // So that the next who copies begins anew.
        if let Err(error) = note.without_end().write(folder) {
            tracing::warn!(%error, "the copy could not be marked as damaged");
        }
        return Err(OpenError::CopyDamaged {
            folder: folder.to_owned(),
            what: what.to_string(),
        });
    }
    let report = OpenReport {
        torn: None,
        shelf: found.shelf.clone(),
        read_only: None,
    };
    found.read_only = Some(note.why_read_only().into());
    found.is_copy = true;
    let desk = start(store, right, options, found, None)?;
    Ok((desk, note.of, report))
}

/// Whether a journal is short enough to be read through before the book opens.
fn is_short(folder: &Path, bytes_max: u64) -> bool {
    let sizes = fs::read_dir(folder).map(|entries| {
        let metadata = entries.filter_map(|entry| entry.ok()?.metadata().ok());
        metadata.map(|file| file.len()).sum::<u64>()
    });
    sizes.is_ok_and(|byte_count| byte_count <= bytes_max)
}
