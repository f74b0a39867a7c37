//! A copy of the journal, made while the book goes on being used.
//!
//! It serves backups. Every line is read by the rules of the journal and written out again byte for
//! byte, up to a head that was published: what is copied is whole, whatever happens behind it, and
//! a damaged line ends the copy instead of being handed on.

use std::sync::Arc;

use fettlebook_model::Moment;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use tokio::sync::mpsc;
use uuid::Uuid;

use super::error::DeskError;
use crate::journal::{Damage, Head, JournalError, Position, ReadLine, Reader};
use crate::limits::{BACKUP_PART_BYTES_MAX, BACKUP_PART_QUEUE_LENGTH_MAX};
use crate::store::Identity;
use crate::store::folder::BACKUP_FILE;

/// Format of a backup.
pub const BACKUP_FORMAT: u32 = 1;

/// The next bytes of a file of a backup.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// Name of the file below the backup's folder, with slashes.
    pub file: String,
    /// Bytes, at most [`BACKUP_PART_BYTES_MAX`].
    pub content: Vec<u8>,
}

/// The parts of a backup in order; the last file is the manifest. An error ends it.
pub type Backup = mpsc::Receiver<Result<Part, DeskError>>;

/// What a backup holds: `backup.json`, its last file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Manifest {
    /// Format of the backup.
    pub format: u32,
    /// The book.
    pub book_id: Uuid,
    /// The incarnation of it.
    pub incarnation_id: Uuid,
    /// Its last entry in the backup.
    pub head: Head,
    /// When the backup was made.
    pub made_time: Moment,
    /// Its other files, in order.
    pub files: Vec<FileSum>,
}

/// A file of a backup.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FileSum {
    /// Name below the backup's folder, with slashes.
    pub name: String,
    /// Length.
    pub byte_count: u64,
    /// SHA-256 of its bytes, hex.
    pub sha256: String,
}

impl Manifest {
    /// The manifest of a backup up to `head`, without files yet.
    pub(super) const fn of(identity: Identity, head: Head, made_time: Moment) -> Self {
        Self {
            format: BACKUP_FORMAT,
            book_id: identity.book_id,
            incarnation_id: identity.incarnation_id,
            head,
            made_time,
            files: Vec::new(),
        }
    }

    /// Bytes of all files but the manifest itself.
    pub fn byte_count(&self) -> u64 {
        self.files.iter().map(|file| file.byte_count).sum()
    }
}

/// Begins to read a backup up to the manifest's head; it goes on as parts are taken, and ends when
/// nobody takes them any more.
/// An error is given to `failed` before it is told.
pub(super) fn begin(
    reader: Arc<dyn Reader>,
    manifest: Manifest,
    failed: impl FnOnce(&DeskError, &dyn Reader) + Send + 'static,
) -> Backup {
    let (sender, parts) = mpsc::channel(BACKUP_PART_QUEUE_LENGTH_MAX);
    tokio::task::spawn_blocking(move || {
        let mut copy = Copying {
            sender: &sender,
            manifest,
            open: None,
        };
        if let Err(Ended::Failed(error)) = copy.run(reader.as_ref()) {
            failed(&error, reader.as_ref());
            let _ = sender.blocking_send(Err(error));
        }
    });
    parts
}

/// Why a copy ended early.
enum Ended {
    /// Nobody takes it any more.
    Unwanted,
    Failed(DeskError),
}

impl From<JournalError> for Ended {
    fn from(error: JournalError) -> Self {
        Self::Failed(error.into())
    }
}

/// The file that is being copied.
struct OpenFile {
    name: String,
    byte_count: u64,
    sum: Sha256,
    pending: Vec<u8>,
}

struct Copying<'a> {
    sender: &'a mpsc::Sender<Result<Part, DeskError>>,
    manifest: Manifest,
    open: Option<OpenFile>,
}

impl Copying<'_> {
    fn run(&mut self, reader: &dyn Reader) -> Result<(), Ended> {
        let mut reached = Head::EMPTY;
        for line in reader.read(Position::START, self.manifest.head.seq)? {
            let line = line?;
            reached = line.mark.head();
            self.take(&line)?;
        }
        self.end_file()?;
        if reached != self.manifest.head {
            let damage = Damage {
                seq: self.manifest.head.seq,
                what: "is not the one that was recorded".to_owned(),
            };
            return Err(JournalError::from(damage).into());
        }
        let text = serde_json::to_vec_pretty(&self.manifest).map_err(|error| {
            Ended::Failed(DeskError::DiskFailed {
                reason: error.to_string().into(),
            })
        })?;
        for content in text.chunks(BACKUP_PART_BYTES_MAX) {
            self.send(BACKUP_FILE.to_owned(), content.to_vec())?;
        }
        Ok(())
    }

    fn take(&mut self, line: &ReadLine) -> Result<(), Ended> {
        let name = format!("journal/{}", line.mark.at.file_name());
        if self.open.as_ref().is_some_and(|open| open.name != name) {
            self.end_file()?;
        }
        let open = self.open.get_or_insert_with(|| OpenFile {
            name,
            byte_count: 0,
            sum: Sha256::new(),
            pending: Vec::with_capacity(BACKUP_PART_BYTES_MAX),
        });
        line.write_to(&mut open.pending);
        while let Some(open) = self
            .open
            .as_mut()
            .filter(|open| open.pending.len() >= BACKUP_PART_BYTES_MAX)
        {
            let rest = open.pending.split_off(BACKUP_PART_BYTES_MAX);
            let (name, content) = open.fill(rest);
            self.send(name, content)?;
        }
        Ok(())
    }

    /// Sends what is left of the open file and puts it into the manifest.
    fn end_file(&mut self) -> Result<(), Ended> {
        let Some(mut open) = self.open.take() else {
            return Ok(());
        };
        let (name, content) = open.fill(Vec::new());
        self.send(name, content)?;
        self.manifest.files.push(FileSum {
            name: open.name,
            byte_count: open.byte_count,
            sha256: hex(&open.sum.finalize()),
        });
        Ok(())
    }

    fn send(&self, file: String, content: Vec<u8>) -> Result<(), Ended> {
        let part = Ok(Part { file, content });
        self.sender.blocking_send(part).map_err(|_| Ended::Unwanted)
    }
}

impl OpenFile {
    /// Takes the pending bytes into the sum and gives them away with the file's name.
    fn fill(&mut self, rest: Vec<u8>) -> (String, Vec<u8>) {
        let content = std::mem::replace(&mut self.pending, rest);
        self.byte_count += content.len() as u64;
        self.sum.update(&content);
        (self.name.clone(), content)
    }
}

/// Bytes as lower-case hexadecimal digits.
pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
