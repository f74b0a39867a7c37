//! `fettled move`: a book from a folder into an engine, or back.

use std::io::{self, Write as _};

use super::ServeError;
use super::begin::no_longer_alone;
use crate::args::{MoveArgs, Way};
use crate::keep::{MovedBook, move_down, move_up};

/// Moves a book and says where it is now.
pub(super) fn moved(args: &MoveArgs) -> Result<(), ServeError> {
    let moved = match args.way() {
        Some(Way::Up(from, to)) => move_up(from, &to)?,
        Some(Way::Down(from, to)) => move_down(&from, to)?,
        None => return Err(ServeError::NoWay),
    };
    let mut text = told(&moved, args);
    if let Some(Way::Up(_, to)) = args.way() {
        text.push_str(no_longer_alone(&to)?);
    }
    let mut out = io::stdout().lock();
    let printed = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    printed.map_err(ServeError::Runtime)
}

/// What is printed.
fn told(moved: &MovedBook, args: &MoveArgs) -> String {
    let serve = match &moved.folder {
        Some(folder) => format!("fettled --book {}", folder.display()),
        // Not the address itself, which may have a password in it.
        None => format!(
            "fettled --store URL --node {} --book-id {}",
            args.node().display(),
            moved.book_id
        ),
    };
    let entries = match moved.entry_count {
        1 => "1 entry".to_owned(),
        count => format!("{count} entries"),
    };
    format!(
        "The book {} with {entries} is in {} now, and nothing more is recorded in {}.\n\
         Devices stay paired. Serve it with:\n\
         \x20   {serve}\n",
        moved.book_id, moved.to, moved.from,
    )
}
