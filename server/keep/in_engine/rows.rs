//! The rows of a damaged book, written out as the lines of a journal, whatever state they are in.
//!
//! Nothing is looked at: a line has the chain value and the bytes that its row has. The folder goes again unless it is
//! said that it stays, for whoever mended the book.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{self, BufWriter, Write as _};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use fettlebook_model::Seq;
use sha2::{Digest as _, Sha256};

use super::InEngineError;
use crate::journal::{RealDisk, put_frame, segment_name};
use crate::keep::KeepError;
use crate::keep::error::failed;
use crate::keep::new_folder::NewFolder;
use crate::store::DamagedBook;
use crate::store::folder::{journal_folder, sync_folder};

/// What tells two rows of one number apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Digest([u8; 32]);

impl Digest {
    /// Of a row with this chain value and these bytes.
    pub(super) fn of(chain: &[u8], bytes: &[u8]) -> Self {
        let mut sum = Sha256::new();
        sum.update(chain);
        sum.update(bytes);
        Self(sum.finalize().into())
    }
}

/// A folder with the rows of a damaged book.
pub(super) struct RowsFolder {
    folder: Option<NewFolder>,
    path: PathBuf,
    digests: BTreeMap<Seq, Digest>,
    /// Whether it is needed once this is done.
    stays: bool,
}

impl RowsFolder {
    /// Writes them into a folder of this machine. Whoever has the right to the book is alone with it.
    pub(super) fn beside(node: &Path, book: &DamagedBook) -> Result<Self, InEngineError> {
        let path = node.join(format!("mending-{}", book.identity().book_id));
        match fs::remove_dir_all(&path) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => {
                return Err(failed("removing", &path)(error).into());
            }
            // Left there by one that was cut off, or not there at all.
            _ => {}
        }
        Self::written(&path, book)
    }

    /// Writes them into a folder, which must be new or empty.
    pub(super) fn written(path: &Path, book: &DamagedBook) -> Result<Self, InEngineError> {
        let folder = NewFolder::begin(path, Arc::new(RealDisk))?;
        let mut rows = Self {
            folder: Some(folder),
            path: path.to_owned(),
            digests: BTreeMap::new(),
            stays: false,
        };
        let journal = rows.journal();
        fs::create_dir(&journal).map_err(failed("making", &journal))?;
        let file = journal.join(segment_name(1));
        let made = File::create_new(&file).map_err(failed("making", &file))?;
        let mut out = BufWriter::new(made);
        let mut line = Vec::new();
        book.each_row(|seq, chain, bytes| {
            line.clear();
            put_frame(&mut line, chain.as_bytes(), bytes);
            rows.digests
                .insert(seq, Digest::of(chain.as_bytes(), bytes));
            let written = out.write_all(&line);
            written.map_err(|error| InEngineError::from(failed("writing to", &file)(error)))
        })?;
        let synced = out
            .into_inner()
            .map_err(io::IntoInnerError::into_error)
            .and_then(|file| file.sync_all());
        synced.map_err(failed("syncing", &file))?;
        sync_folder(&journal).map_err(failed("syncing", &journal))?;
        Ok(rows)
    }

    /// Where it is.
    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// Where the lines are.
    pub(super) fn journal(&self) -> PathBuf {
        journal_folder(&self.path)
    }

    /// What tells each row apart.
    pub(super) const fn digests(&self) -> &BTreeMap<Seq, Digest> {
        &self.digests
    }

    /// Says that all is in it, durably.
    pub(super) fn finish(&mut self) -> Result<(), KeepError> {
        match self.folder.take() {
            Some(folder) => folder.finish().map(drop),
            None => Ok(()),
        }
    }

    /// Keeps it for whoever mended the book.
    pub(super) const fn stay(&mut self) {
        self.stays = true;
    }
}

impl Drop for RowsFolder {
    fn drop(&mut self) {
        if !self.stays
            && let Err(error) = fs::remove_dir_all(&self.path)
        {
            let folder = self.path.display();
            tracing::warn!(%error, %folder, "what a book was looked through with stays");
        }
    }
}
