//! What a node tells of its books, to whoever asks for its health or its metrics.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::Ordering;

use prometheus_client::registry::Registry;
use uuid::Uuid;

use super::books::Books;
use super::slot::Stage;
use crate::desk::Desk;
use crate::serve::metrics::Served;
use crate::store::{Space, shelves_space};

/// How a node and its books stand.
#[derive(Debug, Clone, Default)]
pub(in crate::serve) struct Standing {
    /// Whether it serves.
    pub(in crate::serve) is_well: bool,
    /// Of each book that it has or waits for whether it can record there.
    pub(in crate::serve) books: Vec<(Uuid, bool)>,
}

impl Books {
    /// How they stand.
    pub(super) fn standing(&self) -> Standing {
        let all = self.all().into_iter();
        let books: Vec<_> = all
            .filter(|slot| slot.stage() == Stage::Settled)
            .map(|slot| (slot.id, slot.can_record()))
            .collect();
        let is_well = match self.only() {
            Some(only) => only.can_record(),
            // Whichever of them is asked for is opened.
            None => self.known.is_lately() && !self.place.is_leaving.load(Ordering::SeqCst),
        };
        Standing { is_well, books }
    }
}

/// The books of a node, for its metrics.
pub(super) struct Told {
    books: Arc<Books>,
    node: PathBuf,
}

impl Told {
    /// Of a node with this folder.
    pub(super) fn of(books: Arc<Books>, node: &Path) -> Self {
        let node = node.to_owned();
        Self { books, node }
    }
}

impl Served for Told {
    fn desks(&self) -> Vec<Arc<Desk>> {
        self.books
            .all()
            .iter()
            .filter_map(|slot| slot.desk())
            .collect()
    }

    fn past_backups(&self) -> (u64, u64) {
        let counts = &self.books.place.counts;
        (counts.backups.get(), counts.backup_failures.get())
    }

    fn space(&self) -> Space {
        let all = self.books.all().into_iter();
        Space {
            journal_bytes: all
                .filter(|slot| slot.is_held())
                .map(|slot| slot.line_bytes())
                .sum(),
            ..shelves_space(&self.node)
        }
    }

    fn register(&self, registry: &mut Registry) {
        self.books.place.counts.register(registry);
    }
}
