//! `make`: what can be bought, with its figures.
//!
//! It serves setting up. Every piece of kit is received against a make.

use clap::Subcommand;

use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;

pub(crate) mod add;
pub(crate) mod edit;
pub(crate) mod figures;
pub(crate) mod list;
pub(crate) mod show;

/// What can be done with makes.
#[derive(Debug, Subcommand)]
pub(crate) enum MakeCommand {
    /// Set up a make
    #[command(subcommand)]
    Add(Box<add::Add>),
    /// List the makes
    List(list::List),
    /// Show one make with every figure
    Show(show::Show),
    /// Change figures of a make
    Edit(Box<edit::Edit>),
}

/// Performs one of them.
pub(crate) async fn perform(
    session: &Session,
    command: &MakeCommand,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    match command {
        MakeCommand::Add(args) => add::perform(session, args, printer).await,
        MakeCommand::List(args) => list::perform(session, args, printer).await,
        MakeCommand::Show(args) => show::perform(session, args, printer).await,
        MakeCommand::Edit(args) => edit::perform(session, args, printer).await,
    }
}
