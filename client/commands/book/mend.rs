//! `book mend`: makes a new book of what is provably whole in a damaged one.
//!
//! It serves whoever has a book that opens read-only. The damaged folder is only read, and without
//! `--write` nothing is made at all.

use std::path::PathBuf;

use clap::Args;
use serde_json::json;

use crate::commands::book::restore::open_and_verify;
use crate::commands::book::verify;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::json::to_value;
use crate::render::{Form, Printer, keep};
use crate::solo::{Solo, SoloMend};

const HOW: &str = "\
Kept is the longest beginning in which every entry follows from the one before by its chain value.
Where the damaged book has no such entry, a backup of the same book may have it: name one with
--with. What is left out is not lost: it goes byte for byte into DIR/left-out.bytes, and
DIR/left-out.txt says where each stretch came from.";

/// What `book mend` takes.
#[derive(Args, Debug)]
#[command(after_help = HOW)]
pub(crate) struct Mend {
    /// Folder of the damaged book; nothing in it is changed
    #[arg(long, value_name = "DAMAGED")]
    pub(crate) from: PathBuf,
    /// New or empty folder for the mended book
    #[arg(long, value_name = "DIR")]
    pub(crate) to: PathBuf,
    /// Folder of a backup of the same book, for what is damaged
    #[arg(long, value_name = "BACKUP")]
    pub(crate) with: Option<PathBuf>,
    /// Make the mended book; without it only what it would hold is told
    #[arg(long)]
    pub(crate) write: bool,
}

/// Mends the book, or says what mending it would do.
pub(crate) async fn perform(
    args: &Mend,
    solo: &'static dyn Solo,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let found = solo.mend(&SoloMend {
        from: args.from.clone(),
        to: args.to.clone(),
        backup: args.with.clone(),
        write: args.write,
    })?;
    let verified = if args.write {
        Some(open_and_verify(&args.to, solo, printer).await?)
    } else {
        None
    };
    match printer.form() {
        Form::Json => {
            let verified = verified.as_ref().map(to_value).transpose()?;
            printer.document(&json!({
                "from": args.from.display().to_string(),
                "to": args.to.display().to_string(),
                "mend": keep::mend_document(&found),
                "written": args.write,
                "verified": verified,
            }));
        }
        Form::People | Form::Csv => {
            let (from, to) = (
                args.from.display().to_string(),
                args.to.display().to_string(),
            );
            let page = keep::mended(printer.screen(), (&from, &to), &found, verified.as_ref());
            printer.page(&page);
        }
    }
    Ok(verified.as_ref().map_or(Exit::Done, verify::exit))
}
