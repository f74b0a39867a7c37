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
    let told = told(book, &place, args.name.as_deref(), &args.engine.typed());
    let text = told + no_longer_alone(&engine)?;
    let mut out = io::stdout().lock();
    let printed = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    printed.map_err(ServeError::Runtime)
}

/// What there is to say where there was one book until now, and is one more.
pub(super) fn no_longer_alone(engine: &EngineBook<'_>) -> Result<&'static str, ServeError> {
    let store = engine.store().map_err(OpenError::from)?;
    Ok(match store.book_count().map_err(OpenError::from)? {
        2 => NO_LONGER_ALONE,
        _ => "",
    })
}

const NO_LONGER_ALONE: &str = "\
There are two books now. Devices with fettle
notice nothing. Scripts that were paired
before hold another certificate than they are
shown from now on. Each needs a new key:
    fettle shop export-key
";

/// What is printed; the first device is let in beside what these options name.
fn told(book: Uuid, place: &str, name: Option<&str>, engine: &str) -> String {
    let called = name.map(|name| format!(" called {name}"));
    format!(
        "A book is begun{}, and is empty:\n\
         \x20   {book}\n\
         It is in {place}.\n\
         Nodes without --book-id serve it within two\n\
         seconds. Its first device comes in by the\n\
         code of:\n\
         \x20   fettled pair {engine} --book-id {book} --name bench --role own\n",
        called.unwrap_or_default(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Columns of a small window beside another.
    const NARROW: usize = 45;

    #[test]
    fn what_is_printed_can_be_read_in_a_narrow_window() {
        let book = Uuid::from_u128(0x019a_f2b4_7d2e_7c11_9a52_0c4b_e11f_8a01);
        let place = "postgres://bench@localhost/kit";
        let engine = "--node /home/bench/node-a";
        let said = told(book, place, Some("south"), engine);
        assert!(
            said.starts_with("A book is begun called south, and is empty:\n"),
            "{said}"
        );
        let to_type =
            format!("\n    fettled pair {engine} --book-id {book} --name bench --role own\n");
        assert!(said.contains(&to_type), "{said}");
        let without = told(book, place, None, engine);
        assert!(
            without.starts_with("A book is begun, and is empty:\n"),
            "{without}"
        );
        let to_type = |line: &&str| line.starts_with("    fettled");
        for line in said.lines().chain(NO_LONGER_ALONE.lines()) {
            assert!(to_type(&line) || line.chars().count() <= NARROW, "{line}");
        }
    }
}
