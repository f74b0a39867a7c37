//! `sheet`: an empty sheet for `start --sheet`.
//!
//! It serves whoever lists the kit before it goes into the book. It needs no book.

use clap::Args;

use crate::exit::Exit;
use crate::render::Printer;
use crate::sheets::own::empty;

/// What `sheet` takes.
#[derive(Args, Debug)]
pub(crate) struct EmptySheet {
    /// The headings as comma-separated values, to fill in with a spreadsheet; this is what comes without an
    /// option
    #[arg(long, conflicts_with = "html")]
    pub(crate) csv: bool,
    /// A page to print and write on
    #[arg(long)]
    pub(crate) html: bool,
}

/// Prints it.
pub(crate) fn perform(args: &EmptySheet, printer: &mut Printer) -> Exit {
    let text = if args.html && !args.csv {
        empty::html()
    } else {
        empty::csv()
    };
    printer.verbatim(&text);
    Exit::Done
}
