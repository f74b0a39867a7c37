//! `fettled begin`: one more book in an engine.

use std::io::{self, Write as _};

use uuid::Uuid;

use super::ServeError;
use crate::args::BeginArgs;
use crate::desk::OpenError;
use crate::store::EngineBook;

/// Begins a book and says how its first device comes in.
pub(super) fn begin(args: &BeginArgs) -> Result<(), ServeError> {
    let engine = args.engine.book(None);
    let begun = engine.begin_another(args.name.as_deref());
    let book = begun.map_err(OpenError::from)?;
    let place = engine.place().map_err(OpenError::from)?;
    let text = told(book, &place, args) + no_longer_alone(&engine)?;
    let mut out = io::stdout().lock();
    let printed = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    printed.map_err(ServeError::Runtime)
}

/// What there is to say where there was one book until now, and is one more.
pub(super) fn no_longer_alone(engine: &EngineBook<'_>) -> Result<&'static str, ServeError> {
    let store = engine.store().map_err(OpenError::from)?;
    Ok(match store.book_count().map_err(OpenError::from)? {
        2 => {
            "There are two books now. Devices with fettle notice nothing. Scripts that were paired before hold another\n\
             certificate than they are shown from now on: give each a new key with 'fettle shop export-key'.\n"
        }
        _ => "",
    })
}

/// What is printed.
fn told(book: Uuid, place: &str, args: &BeginArgs) -> String {
    let named = args.name.as_ref().map(|name| format!(", {name},"));
    format!(
        "The book {book}{} is in {place}, empty.\n\
         Nodes without --book-id serve it within two seconds. Its first device comes in by the code of:\n\
         \x20   fettled pair --store URL --node {} --book-id {book} --name bench --role own\n",
        named.unwrap_or_default(),
        args.engine.node().display(),
    )
}
