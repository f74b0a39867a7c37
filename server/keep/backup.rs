//! The folder of a backup: how it is written as its parts come, and how it is verified.
//!
//! It serves whoever wants a second copy of the book. A backup is the journal with a manifest; it
//! has no `book.json`, so that it is never opened and never goes on as a second book. It must never
//! be called a backup before every line and every sum in it was read back and found right.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{self, Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use fettlebook_solo::SoloBackup;
use sha2::{Digest, Sha256};

use super::error::{KeepError, failed};
use super::new_folder::NewFolder;
use super::whole;
use crate::desk::{BACKUP_FORMAT, FileSum, Manifest, hex};
use crate::journal::{Disk, RealDisk, survey};
use crate::limits::MANIFEST_BYTES_MAX;
use crate::store::folder::{
    BACKUP_FILE, book_named_in, format_in, journal_folder, sync_folder, write_whole,
};

/// Bytes read from a file at a time.
const READ_BYTES: usize = 64 * 1024;

/// A backup that is being written.
#[derive(Debug)]
pub struct BackupFolder {
    folder: NewFolder,
    open: Option<(String, PathBuf, File)>,
    manifest: Vec<u8>,
}

impl BackupFolder {
    /// Begins a backup in a folder that must be new or empty.
    ///
    /// # Errors
    /// When it is not, or cannot be written.
    pub fn begin(path: &Path) -> Result<Self, KeepError> {
        Self::begin_on(path, Arc::new(RealDisk))
    }

    /// Begins it on a disk.
    pub(super) fn begin_on(path: &Path, disk: Arc<dyn Disk>) -> Result<Self, KeepError> {
        let folder = NewFolder::begin(path, disk)?;
        let journal = journal_folder(path);
        fs::create_dir(&journal).map_err(failed("making", &journal))?;
        let (open, manifest) = (None, Vec::new());
        Ok(Self {
            folder,
            open,
            manifest,
        })
    }

    /// Takes the next bytes of a file. Files come one after the other; the manifest comes last.
    ///
    /// # Errors
    /// When the name is not one of a backup's files, or the disk fails.
    pub fn take(&mut self, file: &str, content: &[u8]) -> Result<(), KeepError> {
        if file == BACKUP_FILE {
            if self.manifest.len() + content.len() > MANIFEST_BYTES_MAX {
                return Err(not_ours("its backup.json is too long"));
            }
            self.manifest.extend_from_slice(content);
            return Ok(());
        }
        if !self.manifest.is_empty() {
            return Err(not_ours("files follow on its backup.json"));
        }
        if self.open.as_ref().is_none_or(|(name, ..)| name != file) {
            self.end_file()?;
            let path = file_path(self.folder.path(), file)
                .ok_or_else(|| not_ours("it has a file that is not of a journal"))?;
            let opened = File::create_new(&path).map_err(failed("making", &path))?;
            self.open = Some((file.to_owned(), path, opened));
        }
        if let Some((_, path, file)) = &mut self.open {
            file.write_all(content)
                .map_err(failed("writing to", path))?;
        }
        Ok(())
    }

    /// Ends the backup, reads all of it back, and gives what it holds.
    ///
    /// # Errors
    /// When the disk fails or the copy is not what was sent. The folder then says that it was not
    /// finished.
    pub fn finish(mut self) -> Result<Manifest, KeepError> {
        self.end_file()?;
        if self.manifest.is_empty() {
            return Err(not_ours("it ended before its backup.json came"));
        }
        let path = self.folder.path();
        let journal = journal_folder(path);
        sync_folder(&journal).map_err(failed("syncing", &journal))?;
        write_whole(path, BACKUP_FILE, &self.manifest, &RealDisk)
            .map_err(failed("writing", &path.join(BACKUP_FILE)))?;
        let manifest = verify_backup(path)?;
        self.folder.finish()?;
        Ok(manifest)
    }

    fn end_file(&mut self) -> Result<(), KeepError> {
        match self.open.take() {
            Some((_, path, file)) => file.sync_all().map_err(failed("syncing", &path)),
            None => Ok(()),
        }
    }
}

fn not_ours(what: &str) -> KeepError {
    KeepError::NotOurs {
        what: what.to_owned(),
    }
}

/// Where a file of a backup is; none for a name that is not of a file of a journal.
pub(super) fn file_path(folder: &Path, name: &str) -> Option<PathBuf> {
    let file = name.strip_prefix("journal/")?;
    let number = file.strip_suffix(".jsonl")?;
    let plain = !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit());
    plain.then(|| journal_folder(folder).join(file))
}

/// Reads the whole backup in a folder: every sum, every line, and whether it ends where it should.
///
/// # Errors
/// What is wrong with it, or that it cannot be read.
pub fn verify_backup(folder: &Path) -> Result<Manifest, KeepError> {
    let manifest = read_manifest(folder)?;
    let damaged = |what: String| KeepError::BackupDamaged {
        folder: folder.to_owned(),
        what,
    };
    let mut listed = BTreeSet::new();
    for file in &manifest.files {
        let path = file_path(folder, &file.name)
            .ok_or_else(|| damaged(format!("its backup.json names {}", file.name)))?;
        check_file(&path, file)?.map_err(damaged)?;
        listed.insert(path);
    }
    let journal = journal_folder(folder);
    for held in fs::read_dir(&journal).map_err(failed("listing", &journal))? {
        let path = held.map_err(failed("listing", &journal))?.path();
        if !listed.contains(&path) {
            let what = format!("its backup.json does not name {}", path.display());
            return Err(damaged(what));
        }
    }
    let found = survey(&journal, None, &mut |_| Ok(()))?;
    if let Some(damage) = found.damage {
        return Err(damaged(damage.to_string()));
    }
    if found.torn.is_some() || found.head != manifest.head {
        return Err(damaged(format!(
            "its journal does not end at entry {} as its backup.json says",
            manifest.head.seq
        )));
    }
    let said = manifest.book_id;
    match book_named_in(&journal) {
        Some(found) if found != said => Err(damaged(format!(
            "its first entry is of the book {found}, and its backup.json says {said}"
        ))),
        _ => Ok(manifest),
    }
}

/// What a backup holds, in plain facts.
pub(crate) fn said(manifest: &Manifest) -> SoloBackup {
    SoloBackup {
        book_id: manifest.book_id.to_string(),
        incarnation_id: manifest.incarnation_id.to_string(),
        head_seq: whole(manifest.head.seq.0),
        head_chain: manifest.head.chain.to_string(),
        made_time: manifest.made_time,
        file_count: whole(manifest.files.len() as u64),
        byte_count: whole(manifest.byte_count()),
    }
}

/// What a backup says that it holds.
pub(super) fn read_manifest(folder: &Path) -> Result<Manifest, KeepError> {
    let path = folder.join(BACKUP_FILE);
    let text = match fs::read(&path) {
        Ok(text) => text,
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            let folder = folder.to_owned();
            return Err(KeepError::NotABackup { folder });
        }
        Err(error) => return Err(failed("reading", &path)(error)),
    };
    let damaged = |error: serde_json::Error| KeepError::BackupDamaged {
        folder: folder.to_owned(),
        what: format!("its backup.json cannot be read: {error}"),
    };
    if let Some(format) = format_in(&text).filter(|format| *format != BACKUP_FORMAT) {
        return Err(KeepError::Newer {
            folder: folder.to_owned(),
            format,
            known: BACKUP_FORMAT,
        });
    }
    let manifest: Manifest = serde_json::from_slice(&text).map_err(damaged)?;
    Ok(manifest)
}

/// Reads a file through and compares it with its sum; what differs, as a clause.
fn check_file(path: &Path, said: &FileSum) -> Result<Result<(), String>, KeepError> {
    let mut file = match File::open(path) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            return Ok(Err(format!("{} is gone", said.name)));
        }
        opened => opened.map_err(failed("opening", path))?,
    };
    let (mut sum, mut byte_count) = (Sha256::new(), 0);
    let mut buffer = vec![0; READ_BYTES];
    loop {
        let count = file.read(&mut buffer).map_err(failed("reading", path))?;
        let Some(read) = buffer.get(..count).filter(|read| !read.is_empty()) else {
            break;
        };
        sum.update(read);
        byte_count += read.len() as u64;
    }
    if byte_count != said.byte_count {
        return Ok(Err(format!(
            "{} has {byte_count} bytes and should have {}",
            said.name, said.byte_count
        )));
    }
    if hex(&sum.finalize()) != said.sha256 {
        return Ok(Err(format!("{} was changed", said.name)));
    }
    Ok(Ok(()))
}
