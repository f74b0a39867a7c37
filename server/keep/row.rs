//! Backups of a book in one folder, each named by its moment: made one after the other, the oldest taken away once
//! there are more than are wanted.
//!
//! Invariant: nothing is taken away but what a backup of this very book is made of. A folder in which anything else
//! lies stays as it is.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use fettlebook_model::Moment;
use jiff::SignedDuration;
use jiff::fmt::strtime;
use jiff::tz::{Offset, TimeZone};
use uuid::Uuid;

use super::backup::{BackupFolder, file_path, read_manifest};
use super::error::{KeepError, failed};
use super::new_folder::refuse_inside;
use crate::desk::Manifest;
use crate::store::folder::{BACKUP_FILE, UNFINISHED_FILE, journal_folder, sync_folder};

/// The moment in a name, in UTC: such names sort by time. Source: ISO 8601, basic format.
const STAMP: &str = "%Y%m%dT%H%M%SZ";
/// What stands between the moment and the end of the book's id.
const OURS: &str = "-fettlebook-";
/// Digits of the book's id in a name: its last ones, for the first are of the time at which it was begun.
const ID_DIGITS: usize = 12;
/// Age from which a backup that was never finished is taken away: whoever wrote it has ended.
const UNFINISHED_AGE_MIN: SignedDuration = SignedDuration::from_hours(24);

/// The backups of one book in one folder.
#[derive(Debug, Clone)]
pub struct BackupRow {
    into: PathBuf,
    book_id: Uuid,
}

/// What became of the oldest backups.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Pruned {
    /// Those that were taken away.
    pub removed: Vec<PathBuf>,
    /// Those that were left though there are enough, because something else lies in them.
    pub left: Vec<PathBuf>,
}

impl BackupRow {
    /// Those of a book in a folder, which is made where it is missing. It may not lie in the book's own.
    ///
    /// # Errors
    /// When it lies there, or cannot be made.
    pub fn open(into: &Path, book_id: Uuid, book: Option<&Path>) -> Result<Self, KeepError> {
        if let Some(book) = book {
            refuse_inside(into, book)?;
        }
        fs::create_dir_all(into).map_err(failed("making", into))?;
        let into = into.to_owned();
        Ok(Self { into, book_id })
    }

    /// Those of a book that is known by the id that its service says.
    ///
    /// # Errors
    /// When that is no id, or the folder cannot be made.
    pub fn of(into: &Path, book_id: &str) -> Result<Self, KeepError> {
        let unknown = |_| KeepError::CopyNotUnderstood {
            what: "the id of the book",
            word: book_id.to_owned(),
        };
        Self::open(into, Uuid::try_parse(book_id).map_err(unknown)?, None)
    }

    /// Begins the next backup.
    ///
    /// # Errors
    /// When the disk fails.
    pub fn begin(&self, now: Moment) -> Result<(PathBuf, BackupFolder), KeepError> {
        let path = self.into.join(self.name(now));
        match BackupFolder::begin(&path) {
            Ok(folder) => Ok((path, folder)),
            // Somebody else's, of the same second.
            Err(error @ KeepError::NotEmpty { .. }) => Err(error),
            Err(error) => {
                // What a full disk let be made of it is nothing to keep.
                let _ = remove(&path, None);
                Err(error)
            }
        }
    }

    /// The newest backup that is whole by its name and its manifest.
    ///
    /// # Errors
    /// When the folder cannot be listed.
    pub fn newest(&self) -> Result<Option<Manifest>, KeepError> {
        Ok(self.whole()?.pop().map(|(_, manifest)| manifest))
    }

    /// Takes away what was written of a backup that failed.
    ///
    /// # Errors
    /// When something else lies there, or the disk fails.
    pub fn give_up(&self, begun: &Path) -> Result<(), KeepError> {
        remove(begun, None)
    }

    /// Takes the oldest backups away, so that so many are left, and those that nobody finished.
    ///
    /// # Errors
    /// When the disk fails.
    pub fn prune(&self, keep: usize, now: Moment) -> Result<Pruned, KeepError> {
        let mut pruned = Pruned::default();
        let whole = self.whole()?;
        let over = whole.len().saturating_sub(keep.max(1));
        for (path, manifest) in whole.into_iter().take(over) {
            match remove(&path, Some(&manifest)) {
                Ok(()) => pruned.removed.push(path),
                Err(KeepError::NotEmpty { folder }) => pruned.left.push(folder),
                Err(error) => return Err(error),
            }
        }
        for path in self.unfinished(now)? {
            match remove(&path, None) {
                Ok(()) => pruned.removed.push(path),
                Err(KeepError::NotEmpty { folder }) => pruned.left.push(folder),
                Err(error) => return Err(error),
            }
        }
        Ok(pruned)
    }

    fn name(&self, now: Moment) -> String {
        let stamp = now
            .to_zoned_datetime(TimeZone::UTC)
            .strftime(STAMP)
            .to_string();
        format!("{stamp}{}", self.ending())
    }

    /// How the name of each backup of this book ends.
    fn ending(&self) -> String {
        let id = self.book_id.simple().to_string();
        let digits = id.get(id.len().saturating_sub(ID_DIGITS)..).unwrap_or(&id);
        format!("{OURS}{digits}")
    }

    /// Folders with a name of ours, each with the moment in it, from the oldest on.
    fn named(&self) -> Result<Vec<(PathBuf, Moment)>, KeepError> {
        let listing = || failed("listing", &self.into);
        let mut found = Vec::new();
        for held in fs::read_dir(&self.into).map_err(listing())? {
            let held = held.map_err(listing())?;
            // What a link leads to is somewhere else.
            let is_folder = held.file_type().map_err(listing())?.is_dir();
            let name = held.file_name();
            let moment = name.to_str().and_then(|name| self.moment_in(name));
            if let Some(moment) = moment.filter(|_| is_folder) {
                found.push((held.path(), moment));
            }
        }
        found.sort();
        Ok(found)
    }

    /// The moment in a name of ours.
    fn moment_in(&self, name: &str) -> Option<Moment> {
        let stamp = name.strip_suffix(&self.ending())?;
        let read = strtime::parse(STAMP, stamp).ok()?.to_datetime().ok()?;
        Offset::UTC.to_timestamp(read).ok()
    }

    /// The backups of this book that were finished, from the oldest on.
    fn whole(&self) -> Result<Vec<(PathBuf, Manifest)>, KeepError> {
        let named = self.named()?.into_iter();
        let whole = named.filter(|(path, _)| !path.join(UNFINISHED_FILE).exists());
        let read =
            whole.filter_map(|(path, _)| read_manifest(&path).ok().map(|found| (path, found)));
        Ok(read
            .filter(|(_, found)| found.book_id == self.book_id)
            .collect())
    }

    /// Those of this book that were begun long ago and never finished.
    fn unfinished(&self, now: Moment) -> Result<Vec<PathBuf>, KeepError> {
        let named = self.named()?.into_iter();
        let old = named.filter(|(_, begun)| now.duration_since(*begun) >= UNFINISHED_AGE_MIN);
        let unfinished = old.filter(|(path, _)| path.join(UNFINISHED_FILE).exists());
        Ok(unfinished.map(|(path, _)| path).collect())
    }
}

/// Takes a backup away, if nothing else lies in its folder. Broken off it is none any more.
fn remove(folder: &Path, manifest: Option<&Manifest>) -> Result<(), KeepError> {
    let files = files_of(folder, manifest)?;
    let says = folder.join(UNFINISHED_FILE);
    // One that was never finished says so already, or has nothing in it; a full disk would not take more.
    if manifest.is_some() {
        File::create(&says)
            .and_then(|file| file.sync_all())
            .and_then(|()| sync_folder(folder))
            .map_err(failed("writing", &says))?;
    }
    for file in files {
        fs::remove_file(&file).map_err(failed("removing", &file))?;
    }
    let journal = journal_folder(folder);
    if journal.exists() {
        fs::remove_dir(&journal).map_err(failed("removing", &journal))?;
    }
    if says.exists() {
        fs::remove_file(&says).map_err(failed("removing", &says))?;
    }
    fs::remove_dir(folder).map_err(failed("removing", folder))
}

/// The files of a backup, `unfinished.txt` left out.
fn files_of(folder: &Path, manifest: Option<&Manifest>) -> Result<Vec<PathBuf>, KeepError> {
    let something_else = || KeepError::NotEmpty {
        folder: folder.to_owned(),
    };
    let mut files = Vec::new();
    for path in listed(folder)? {
        if path == folder.join(BACKUP_FILE) {
            files.push(path);
        } else if path != journal_folder(folder) && path != folder.join(UNFINISHED_FILE) {
            return Err(something_else());
        }
    }
    for path in listed(&journal_folder(folder))? {
        let name = path.file_name().map(|name| name.to_string_lossy());
        let name = format!("journal/{}", name.unwrap_or_default());
        let is_listed =
            manifest.is_none_or(|manifest| manifest.files.iter().any(|file| file.name == name));
        if !is_listed || file_path(folder, &name).as_ref() != Some(&path) {
            return Err(something_else());
        }
        files.push(path);
    }
    Ok(files)
}

/// What lies in a folder; nothing where it is missing.
fn listed(folder: &Path) -> Result<Vec<PathBuf>, KeepError> {
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(failed("listing", folder)(error)),
    };
    let paths = entries.map(|entry| entry.map(|entry| entry.path()));
    paths
        .collect::<Result<_, _>>()
        .map_err(failed("listing", folder))
}
