//! Bringing a shelf up from the journal: opened anew, thrown away if it must be, and filled.
//!
//! It serves the keeper that lost its shelf to a full or failing disk. It must end with a shelf that
//! holds exactly what the journal says up to the entry asked for, or with an error.

use std::sync::Arc;

use fettlebook_model::{Book, Entry, Seq};

use super::keeper::Source;
use super::{Furthest, Shelf, ShelfError, ShelfMark, Shelved};
use crate::journal::{JournalError, Mark, Position, ReadLine};
use crate::limits::SHELF_BATCH_COUNT_MAX;

/// A shelf that has been brought up, and what it holds.
pub(super) struct Recovered {
    pub(super) shelf: Shelf,
    pub(super) book: Book,
    pub(super) furthest: Furthest,
}

/// Opens the shelf and brings it up to entry `until`.
pub(super) fn recover(source: &Source, until: Seq) -> Result<Recovered, ShelfError> {
    let kept = Shelf::open(&source.folder, source.size).and_then(|shelf| restore(shelf, source));
    let mut recovered = match kept {
        Ok((recovered, mark)) if stands(source, &mark)? => recovered,
        Err(ShelfError::Locked) => return Err(ShelfError::Locked),
        _ => begin(source)?,
    };
    if recovered.book.head() > until {
        recovered = begin(source)?;
    }
    recovered.catch_up(source, until)?;
    Ok(recovered)
}

/// What a shelf holds by its own word.
fn restore(shelf: Shelf, source: &Source) -> Result<(Recovered, Mark), ShelfError> {
    let mark = shelf.mark()?;
    let mark = mark.ok_or_else(|| ShelfError::Damaged("it has no mark".to_owned()))?;
    if let Some(why) = mark.unfit_for(source.owner) {
        return Err(ShelfError::Unfit(why));
    }
    let book = Book::restore(mark.last.at.seq, shelf.records()?);
    let furthest = mark.furthest;
    let recovered = Recovered {
        shelf,
        book,
        furthest,
    };
    Ok((recovered, mark.last))
}

/// Whether the journal has the entry that a shelf says is its last.
fn stands(source: &Source, mark: &Mark) -> Result<bool, ShelfError> {
    let mut lines = source.reader.read(mark.at, mark.at.seq).map_err(unread)?;
    Ok(lines
        .next()
        .is_some_and(|line| line.is_ok_and(|line| line.mark == *mark)))
}

/// An empty shelf in place of what is there.
fn begin(source: &Source) -> Result<Recovered, ShelfError> {
    Shelf::throw_away(&source.folder).map_err(|error| ShelfError::Failed(error.to_string()))?;
    Ok(Recovered {
        shelf: Shelf::open(&source.folder, source.size)?,
        book: Book::new(),
        furthest: Furthest::NONE,
    })
}

impl Recovered {
    fn catch_up(&mut self, source: &Source, until: Seq) -> Result<(), ShelfError> {
        let known = self.book.head();
        if known >= until {
            return Ok(());
        }
        let from = match self.shelf.mark()? {
            Some(mark) => mark.last.at,
            None => Position::START,
        };
        let mut batch = Vec::new();
        for line in source.reader.read(from, until).map_err(unread)? {
            let line = line.map_err(unread)?;
            if line.mark.at.seq <= known {
                continue;
            }
            batch.push(self.take(line)?);
            if batch.len() >= SHELF_BATCH_COUNT_MAX {
                self.put(source, &batch)?;
                batch.clear();
            }
        }
        self.put(source, &batch)
    }

    fn take(&mut self, line: ReadLine) -> Result<Shelved, ShelfError> {
        let entry = Entry::read(&line.entry)
            .map_err(|why| ShelfError::Failed(format!("entry {} {why}", line.mark.at.seq)))?;
        self.book.apply(&entry);
        self.furthest.reach(&entry);
        Ok(Shelved {
            entry: Arc::new(entry),
            mark: line.mark,
        })
    }

    fn put(&self, source: &Source, batch: &[Shelved]) -> Result<(), ShelfError> {
        let Some(last) = batch.last() else {
            return Ok(());
        };
        let mark = ShelfMark::new(source.owner, last.mark.clone(), self.furthest);
        self.shelf.put(batch, &self.book, &mark)
    }
}

#[allow(
    clippy::needless_pass_by_value,
    reason = "it is what `map_err` hands over"
)]
fn unread(error: JournalError) -> ShelfError {
    ShelfError::Failed(error.to_string())
}
