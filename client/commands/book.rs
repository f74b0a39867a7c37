//! `book`: the record itself.
//!
//! It serves looking back, taking back and trusting it. Nothing in the book is ever deleted.

use clap::Subcommand;

use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;

pub(crate) mod backup;
pub(crate) mod entries;
pub(crate) mod export;
pub(crate) mod follow;
pub(crate) mod import;
pub(crate) mod mend;
pub(crate) mod policy;
pub(crate) mod restore;
pub(crate) mod reverse;
pub(crate) mod set;
pub(crate) mod show;
pub(crate) mod standing;
pub(crate) mod verify;

/// What can be done with the book.
#[derive(Debug, Subcommand)]
pub(crate) enum BookCommand {
    /// List the entries
    Entries(entries::Entries),
    /// Show one entry
    Show(show::Show),
    /// Take a mistaken entry back by a new one that names it
    Reverse(reverse::Reverse),
    /// Read the whole journal and say whether it is whole
    Verify(verify::Verify),
    /// Copy the whole book into a new folder, and read the copy back
    Backup(backup::Backup),
    /// Bring a book back from a backup, into a new folder
    Restore(restore::Restore),
    /// Make a new book of what is whole in a damaged one
    Mend(mend::Mend),
    /// Show every default the model works with, and where it comes from
    Policy(policy::Policy),
    /// Change defaults
    Set(set::Set),
    /// Write what the shop has set up and has in its kit into files
    Export(export::Export),
    /// Take over the pads of a notebook, or the files of an export
    Import(import::Import),
    /// Say where the book is and how it stands
    Where(standing::Where),
}

/// Performs one of them.
pub(crate) async fn perform(
    session: &Session,
    command: &BookCommand,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    match command {
        BookCommand::Entries(args) => entries::perform(session, args, printer).await,
        BookCommand::Show(args) => show::perform(session, args, printer).await,
        BookCommand::Reverse(args) => reverse::perform(session, args, printer).await,
        BookCommand::Verify(args) => verify::perform(session, args, printer).await,
        BookCommand::Backup(args) => backup::perform(session, args, printer).await,
        BookCommand::Restore(_) | BookCommand::Mend(_) => Err(Fault::usage(
            "book",
            "This makes a book of its own; run it by itself.",
        )),
        BookCommand::Policy(args) => policy::perform(session, args, printer).await,
        BookCommand::Set(args) => set::perform(session, args, printer).await,
        BookCommand::Export(args) => export::perform(session, args, printer).await,
        BookCommand::Import(args) => import::perform(session, args, printer).await,
        BookCommand::Where(args) => standing::perform(session, args, printer).await,
    }
}
