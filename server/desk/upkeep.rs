//! When the book was last verified and backed up, noted beside it for whoever looks after it.
//!
//! ```text
//! upkeep.json  {"format":1,"incarnation_id":"…","verified":{"seq":41,"time":"…"},"backup":{"seq":41,"time":"…"},"check":"<64 hex digits>"}
//! ```
//!
//! Nothing follows from it but what people are told. It may be thrown away, and one that cannot be read counts
//! for none.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use fettlebook_model::{Moment, Seq};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::journal::Chain;
use crate::store::{About, Store};

/// Format of that file.
const UPKEEP_FORMAT: u32 = 1;

/// Something that was done for the whole book.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Done {
    /// The last entry that it was done for.
    pub seq: Seq,
    /// When.
    pub time: Moment,
}

/// Backups that a running service makes by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Schedule {
    /// Seconds between two.
    pub every_s: i64,
    /// When the next is due.
    pub next: Moment,
}

/// What was done for a book, and what is planned.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Upkeep {
    /// When it was last verified and found whole.
    pub verified: Option<Done>,
    /// When it was last backed up, the backup read back and found whole.
    pub backup: Option<Done>,
    /// Backups that this process makes by itself.
    pub schedule: Option<Schedule>,
    /// Why the last of those failed; none where it did not.
    pub trouble: Option<Arc<str>>,
    /// How many of those were made since the start.
    pub made_count: u64,
    /// How many failed since then.
    pub failed_count: u64,
}

/// What stands in `upkeep.json`.
#[derive(Debug, Clone, Serialize, Deserialize)]
struct UpkeepFile {
    format: u32,
    incarnation_id: Uuid,
    #[serde(default)]
    verified: Option<Done>,
    #[serde(default)]
    backup: Option<Done>,
    /// Tells a changed byte.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    check: Option<Chain>,
}

impl UpkeepFile {
    /// What stands in one that was not changed.
    fn read(text: &[u8]) -> Option<Self> {
        let file: Self = serde_json::from_slice(text).ok()?;
        (file.format == UPKEEP_FORMAT && file.check == file.sum()).then_some(file)
    }

    /// The same of one of this life of the book.
    fn of_life(text: &[u8], incarnation_id: Uuid) -> Option<Self> {
        Self::read(text).filter(|file| file.incarnation_id == incarnation_id)
    }

    /// The check of the other fields.
    fn sum(&self) -> Option<Chain> {
        let mut unchecked = self.clone();
        unchecked.check = None;
        let text = serde_json::to_vec(&unchecked).ok()?;
        Some(Chain::ZERO.link(&text))
    }
}

/// What was noted of a book, for the life that it has where it moves to: it has the same entries there.
#[cfg(feature = "postgres")]
pub(crate) fn carried(text: &[u8], incarnation_id: Uuid) -> Option<Vec<u8>> {
    let mut file = UpkeepFile::read(text)?;
    file.incarnation_id = incarnation_id;
    file.check = None;
    file.check = file.sum();
    serde_json::to_vec(&file).ok()
}

/// When a book was last backed up, by what was noted of this life of it.
#[cfg(feature = "postgres")]
pub(crate) fn backed_up(text: &[u8], incarnation_id: Uuid) -> Option<Done> {
    UpkeepFile::of_life(text, incarnation_id)?.backup
}

/// Where the upkeep of one incarnation of a book is kept.
pub(super) struct UpkeepPlace {
    store: Arc<dyn Store>,
    incarnation_id: Uuid,
    /// Read once somebody asks.
    held: Mutex<Option<Upkeep>>,
}

impl UpkeepPlace {
    /// That of a book in a store. Nothing is read yet.
    pub(super) fn new(store: Arc<dyn Store>, incarnation_id: Uuid) -> Self {
        Self {
            store,
            incarnation_id,
            held: Mutex::default(),
        }
    }

    /// What was done, and what is planned.
    pub(super) fn told(&self) -> Upkeep {
        self.lock()
            .get_or_insert_with(|| self.read().unwrap_or_default())
            .clone()
    }

    /// Changes what is known in this process.
    pub(super) fn change(&self, change: impl FnOnce(&mut Upkeep)) {
        change(
            self.lock()
                .get_or_insert_with(|| self.read().unwrap_or_default()),
        );
    }

    /// Changes it, and notes it in the store.
    pub(super) fn keep(&self, change: impl FnOnce(&mut Upkeep)) {
        self.change(change);
        let told = self.told();
        let mut file = UpkeepFile {
            format: UPKEEP_FORMAT,
            incarnation_id: self.incarnation_id,
            verified: told.verified,
            backup: told.backup,
            check: None,
        };
        file.check = file.sum();
        let text = serde_json::to_vec(&file).map_err(std::io::Error::other);
        let written = text.and_then(|text| self.store.keep_note(About::Upkeep, &text));
        if let Err(error) = written {
            tracing::warn!(%error, "when the book was verified and backed up is not written down");
        }
    }

    fn lock(&self) -> MutexGuard<'_, Option<Upkeep>> {
        self.held.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn read(&self) -> Option<Upkeep> {
        let text = self.store.note(About::Upkeep).ok()??;
        let file = UpkeepFile::of_life(&text, self.incarnation_id)?;
        Some(Upkeep {
            verified: file.verified,
            backup: file.backup,
            ..Upkeep::default()
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::FolderStore;

    #[test]
    fn what_was_done_is_known_to_the_next_process_and_a_changed_byte_makes_it_unknown() {
        let folder = tempfile::tempdir().unwrap();
        let (book, other) = (Uuid::from_u128(7), Uuid::from_u128(8));
        let place = |id| UpkeepPlace::new(Arc::new(FolderStore::at(folder.path())), id);
        let time = "2026-06-03T18:10:00Z".parse().unwrap();
        let done = Done { seq: Seq(41), time };
        place(book).keep(|upkeep| upkeep.backup = Some(done));
        place(book).keep(|upkeep| upkeep.verified = Some(done));
        let told = place(book).told();
        assert_eq!((told.backup, told.verified), (Some(done), Some(done)));
        assert_eq!(place(other).told(), Upkeep::default());
        let path = folder.path().join("upkeep.json");
        let text = std::fs::read_to_string(&path).unwrap();
        std::fs::write(&path, text.replace("41", "42")).unwrap();
        assert_eq!(place(book).told(), Upkeep::default());
    }
}
