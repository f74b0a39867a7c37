//! `kit`: the pieces there are, and whether they may go on paint.
//!
//! It serves looking and setting right. What a piece's state means for a job is the check's to say.

use clap::Subcommand;

use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;

pub(crate) mod aside;
pub(crate) mod back;
pub(crate) mod demote;
pub(crate) mod dry;
pub(crate) mod list;
pub(crate) mod show;

/// What can be done with the kit.
#[derive(Debug, Subcommand)]
pub(crate) enum KitCommand {
    /// List the kit
    List(list::List),
    /// Show one piece and what happened to it
    Show(show::Show),
    /// Keep pieces off paint for a reason
    Aside(aside::Aside),
    /// Bring pieces back from aside
    Return(back::Return),
    /// Say that washed pieces are dry now
    Dry(dry::Dry),
    /// Take a bundle of towels down to a lower use
    Demote(demote::Demote),
}

/// Performs one of them.
pub(crate) async fn perform(
    session: &Session,
    command: &KitCommand,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    match command {
        KitCommand::List(args) => list::perform(session, args, printer).await,
        KitCommand::Show(args) => show::perform(session, args, printer).await,
        KitCommand::Aside(args) => aside::perform(session, args, printer).await,
        KitCommand::Return(args) => back::perform(session, args, printer).await,
        KitCommand::Dry(args) => dry::perform(session, args, printer).await,
        KitCommand::Demote(args) => demote::perform(session, args, printer).await,
    }
}
