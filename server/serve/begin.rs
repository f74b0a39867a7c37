//! `fettled begin`: one more book in an engine.

use std::io::{self, Write as _};

use uuid::Uuid;

use super::ServeError;
use crate::args::BeginArgs;
use crate::desk::OpenError;

/// Begins a book and says how its first device comes in.
pub(super) fn begin(args: &BeginArgs) -> Result<(), ServeError> {
    let engine = args.engine.book(None);
    let begun = engine.begin_another(args.name.as_deref());
    let book = begun.map_err(OpenError::from)?;
    let place = engine.place().map_err(OpenError::from)?;
    let text = told(book, &place, args);
    let mut out = io::stdout().lock();
    let printed = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    printed.map_err(ServeError::Runtime)
}

/// What is printed.
fn told(book: Uuid, place: &str, args: &BeginArgs) -> String {
    let named = args.name.as_ref().map(|name| format!(", {name},"));
    format!(
        "The book {book}{} is in {place}, empty.\n\
         Nodes without --book-id serve it at once. Its first device comes in by the code of:\n\
         \x20   fettled pair --store URL --node {} --book-id {book} --name bench --role own\n",
        named.unwrap_or_default(),
        args.engine.node().display(),
    )
}
