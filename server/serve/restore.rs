//! `fettled restore`: a book from a backup into an engine.

use std::io::{self, Write as _};

use super::ServeError;
use super::begin::no_longer_alone;
use crate::args::RestoreArgs;
use crate::keep::{RestoredInEngine, restore_in_engine};

/// Brings a book back and says how its first device comes in.
pub(super) fn restored(args: &RestoreArgs) -> Result<(), ServeError> {
    let engine = args.engine.book(None);
    let restored = restore_in_engine(&args.from, &engine, args.name.as_deref())?;
    let text = told(&restored, args) + no_longer_alone(&engine)?;
    let mut out = io::stdout().lock();
    let printed = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    printed.map_err(ServeError::Runtime)
}

/// What is printed.
fn told(restored: &RestoredInEngine, args: &RestoreArgs) -> String {
    let (backup, place) = (&restored.backup, &restored.place);
    let entries = match backup.head.seq.0 {
        1 => "1 entry".to_owned(),
        count => format!("{count} entries"),
    };
    let book = backup.book_id;
    let mut text = format!(
        "The book {book} with {entries} is in {place}, from the backup of {}. It goes on after entry {}; do not go \
         on with the old one too.\n",
        backup.made_time, backup.head.seq,
    );
    if let Some(moved) = &restored.went {
        text.push_str(&format!(
            "It had moved from there to {} on {}: see that nobody goes on with it there.\n",
            moved.to, moved.at
        ));
    }
    text.push_str(&format!(
        "Nodes without --book-id serve it within two seconds.\n\
         No device is let in; the first comes in by the code of:\n\
         \x20   fettled pair {} --book-id {book} --name bench --role own\n",
        args.engine.typed(),
    ));
    text
}
