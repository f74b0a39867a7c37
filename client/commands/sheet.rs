//! `sheet`: an empty sheet for `start --sheet`, for whoever lists the kit before it goes into the book. It needs
//! no book.

use clap::Args;

use crate::commands::common::Habit;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::{Printer, csv};
use crate::sheets::own::empty;

/// What `sheet` takes.
#[derive(Args, Debug)]
pub(crate) struct EmptySheet {
    /// The headings as comma-separated values, to fill in with a spreadsheet; this is what comes without an
    /// option
    #[arg(long, conflicts_with = "html")]
    pub(crate) csv: bool,
    #[command(flatten)]
    pub(crate) habit: Habit,
    /// A page to print and write on
    #[arg(long)]
    pub(crate) html: bool,
}

/// Prints it.
///
/// # Errors
/// When it cannot be written.
pub(crate) fn perform(args: &EmptySheet, printer: &mut Printer) -> Result<Exit, Fault> {
    let text = if args.html {
        empty::html()
    } else {
        csv::begun(&[empty::headings()], args.habit.decimals())?
    };
    printer.verbatim(&text);
    Ok(Exit::Done)
}
