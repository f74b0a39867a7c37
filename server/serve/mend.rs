//! `fettled mend`: a book in an engine whose entries were changed or lack.

use std::io::{self, Write as _};

use super::ServeError;
use crate::args::MendArgs;
use crate::keep::{MendInEngine, MendedInEngine, mend_in_engine};

/// Mends a book, or says what that would do.
pub(super) fn mended(args: &MendArgs) -> Result<(), ServeError> {
    let engine = args.engine.book(args.book_id);
    let mended = mend_in_engine(&MendInEngine {
        book: engine,
        backup: args.with.as_deref(),
        aside: args.aside.as_deref(),
    })?;
    let text = told(&mended);
    let mut out = io::stdout().lock();
    let printed = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    printed.map_err(ServeError::Runtime)
}

const WHOLE: &str = "If the book opens read-only all the same, what is missing is not in its entries; a backup may have \
    it (--with).";
const ANOTHER_LIFE: &str =
    "Nothing was changed. --write and --aside DIR would only make it another life of the book.";
const TO_MEND: &str = "Nothing was changed. To mend the book, give --write and --aside DIR too.";

/// What is printed.
fn told(mended: &MendedInEngine) -> String {
    let (found, place) = (&mended.found, &mended.place);
    let book = &found.book_id;
    let mut lines = vec![if found.damage.is_empty() {
        format!("In the book {book} in {place} every entry fits the one before.")
    } else {
        format!("In the book {book} in {place}, {}.", found.damage)
    }];
    lines.push(found.kept());
    lines.extend(found.histories.told());
    lines.extend(found.left_out.iter().map(|stretch| format!("  {stretch}")));
    let is_whole = found.damage.is_empty() && found.taken.is_empty();
    if is_whole {
        lines.push(WHOLE.to_owned());
    }
    let Some(aside) = &mended.aside else {
        let next = if is_whole { ANOTHER_LIFE } else { TO_MEND };
        lines.push(next.to_owned());
        return lines.join("\n") + "\n";
    };
    let aside = aside.display();
    lines.push(format!(
        "Mended, and read back: the book goes on after entry {}, as another life of it. Devices stay paired.",
        found.head_seq
    ));
    lines.push(format!("Its journal as it was is in {aside}/journal."));
    if !found.left_out.is_empty() {
        lines.push(format!(
            "What was left out is in {aside}/left-out.bytes; left-out.txt says where it came from."
        ));
    }
    lines.join("\n") + "\n"
}
