//! What the shelf gives back of a book, so that the journal need not be read from its beginning.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

use fettlebook_model::Book;
use uuid::Uuid;

use crate::desk::error::OpenError;
use crate::shelf::{Shelf, ShelfError, ShelfMark, ShelfSize};

/// What the shelf gave back.
pub(super) struct Restored {
    pub(super) shelf: Result<Shelf, ShelfError>,
    pub(super) mark: Option<ShelfMark>,
    pub(super) book: Book,
    pub(super) thrown_away: Option<String>,
}

/// Restores the book from the shelf; a shelf that cannot serve is thrown away and begun again. Where
/// even that fails, as on a full disk, the book does without until it can be.
pub(super) fn restore(folder: &Path, size: ShelfSize, owner: Uuid) -> Result<Restored, OpenError> {
    let read = catch_unwind(AssertUnwindSafe(|| read_shelf(folder, size, owner)));
    let why = match read {
        Ok(Ok(restored)) => return Ok(restored),
        Ok(Err(ShelfError::Locked)) => return Err(ShelfError::Locked.into()),
        Ok(Err(error)) => error.to_string(),
        Err(_) => "reading the shelf broke off".to_owned(),
    };
    tracing::warn!(why, "the shelf is built again from the journal");
    let thrown_away = Shelf::throw_away(folder);
    let thrown_away = thrown_away.map_err(|error| ShelfError::Failed(error.to_string()));
    Ok(Restored {
        shelf: thrown_away.and_then(|()| Shelf::open(folder, size)),
        mark: None,
        book: Book::new(),
        thrown_away: Some(why),
    })
}

fn read_shelf(folder: &Path, size: ShelfSize, owner: Uuid) -> Result<Restored, ShelfError> {
    let shelf = Shelf::open(folder, size)?;
    let Some(mark) = shelf.mark()? else {
        let thrown_away = None;
        return Ok(Restored {
            shelf: Ok(shelf),
            mark: None,
            book: Book::new(),
            thrown_away,
        });
    };
    if let Some(why) = mark.unfit_for(owner) {
        return Err(ShelfError::Unfit(why));
    }
    let book = Book::restore(mark.last.at.seq, shelf.records()?);
    Ok(Restored {
        shelf: Ok(shelf),
        mark: Some(mark),
        book,
        thrown_away: None,
    })
}
