//! A book whose rows are mended where they are.
//!
//! Whoever mends it has the writer's right. What is put in the place of rows comes in one transaction, which begins
//! with the book's own row: it counts only while the right is still theirs, and whoever takes the book over waits for
//! it. In that transaction the book has gone elsewhere, and comes back as another life.

use std::cmp::Ordering;
use std::sync::Arc;

use fettlebook_model::Seq;

use super::arrival::Arrival;
use super::lanes::Lane;
use super::reader::PostgresReader;
use super::right::{PostgresRight, TAKEN_OVER};
use super::seal::Seal;
use super::{EngineBook, number};
use crate::journal::{Damage, Head, JournalError, Reader as _, Survey};
use crate::limits::ENGINE_WAIT_MAX;
use crate::store::{Asked, Identity, Store as _, StoreError, WritersRight as _};

/// Bytes of rows behind which no further one is read at once.
const BATCH_BYTES: i64 = 1024 * 1024;

/// A book that nobody else writes in while it is mended.
#[derive(Debug)]
pub(crate) struct DamagedBook {
    right: PostgresRight,
    seal: Seal,
}

impl EngineBook<'_> {
    /// Takes the right to mend a book; none where there is no book.
    ///
    /// # Errors
    /// Those of taking the right.
    pub(crate) fn damaged(&self, asked: &Asked) -> Result<Option<DamagedBook>, StoreError> {
        let store = self.store()?;
        if store.identity()?.is_none() {
            return Ok(None);
        }
        Ok(Some(DamagedBook {
            right: store.take_right(asked)?,
            seal: Seal::in_folder(self.node),
        }))
    }
}

impl DamagedBook {
    /// Which book it is, and which life of it.
    pub(crate) const fn identity(&self) -> Identity {
        self.right.identity
    }

    /// Where it is, for people.
    pub(crate) fn place(&self) -> String {
        self.right.engine.place().to_owned()
    }

    /// Gives every row, by its number, with its chain value and its bytes as they are.
    ///
    /// # Errors
    /// When the engine does not give them, or what `visit` says.
    pub(crate) fn each_row<E: From<StoreError>>(
        &self,
        mut visit: impl FnMut(Seq, &str, &[u8]) -> Result<(), E>,
    ) -> Result<(), E> {
        let (engine, book) = (&self.right.engine, self.right.book);
        let mut after = Seq(0);
        loop {
            let (from, holder) = (number(after.0), self.right.holder.clone());
            let read = engine.ask(
                Lane::Read(book),
                ENGINE_WAIT_MAX,
                move |session| async move {
                    session.rows((book, &holder), from, BATCH_BYTES).await
                },
            );
            let failed = |what: String| StoreError::Engine {
                place: engine.place().to_owned(),
                what,
            };
            let rows = read.map_err(|trouble| failed(trouble.to_string()))?;
            let rows = rows.ok_or_else(|| failed(TAKEN_OVER.to_owned()))?;
            let Some(last) = rows.last() else {
                return Ok(());
            };
            after = last.seq;
            for row in &rows {
                visit(row.seq, &row.chain, &row.bytes)?;
            }
        }
    }

    /// What is wrong first: with an entry, or with where the book says that it ends.
    ///
    /// # Errors
    /// When the engine does not tell.
    pub(crate) fn damage(&self) -> Result<Option<Damage>, JournalError> {
        let found = self.right.reader().survey(None, None, &mut |_| Ok(()))?;
        Ok(first_damage(found, &self.right.held.head))
    }

    /// What is wrong up to an entry that was put there; nothing where all of it is as it should be.
    ///
    /// # Errors
    /// When the engine does not tell.
    pub(crate) fn read_back(&self, end: &Head) -> Result<Option<Damage>, JournalError> {
        let engine = Arc::clone(&self.right.engine);
        let reader = PostgresReader::new(engine, self.right.book, end.seq);
        let found = reader.survey(None, Some(end.seq), &mut |_| Ok(()))?;
        Ok(first_damage(found, end))
    }

    /// Begins to put other entries in the place of some, as another life of the book.
    ///
    /// # Errors
    /// When the right is another's by now, or the engine cannot be used.
    pub(crate) fn mending(&self, identity: Identity) -> Result<Arrival, StoreError> {
        let engine = Arc::clone(&self.right.engine);
        Arrival::over(engine, self.seal.clone(), identity, &self.right.holder)
    }
}

/// What is wrong first in what was found of a book that says where it ends.
fn first_damage(found: Survey, end: &Head) -> Option<Damage> {
    if found.damage.is_some() || found.head == *end {
        return found.damage;
    }
    let says = format!("the book says that it ends with entry {}", end.seq);
    let (seq, what) = match found.head.seq.cmp(&end.seq) {
        Ordering::Less => (found.head.seq.next(), format!("is missing, and {says}")),
        Ordering::Equal => (
            end.seq,
            format!("is not the one that was there when it ended, and {says}"),
        ),
        Ordering::Greater => (end.seq.next(), format!("lies behind its end, and {says}")),
    };
    Some(Damage { seq, what })
}
