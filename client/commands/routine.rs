//! `routine`: named lists of steps.
//!
//! It serves setting up. A routine is what jobs are booked with.

use clap::Subcommand;

use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;

pub(crate) mod add;
pub(crate) mod edit;
pub(crate) mod list;
pub(crate) mod parts;
pub(crate) mod show;

/// What can be done with routines.
#[derive(Debug, Subcommand)]
pub(crate) enum RoutineCommand {
    /// Set up a routine
    Add(add::Add),
    /// List the routines
    List(list::List),
    /// Show one routine with its steps
    Show(show::Show),
    /// Change a routine
    Edit(edit::Edit),
}

/// Performs one of them.
pub(crate) async fn perform(
    session: &Session,
    command: &RoutineCommand,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    match command {
        RoutineCommand::Add(args) => add::perform(session, args, printer).await,
        RoutineCommand::List(args) => list::perform(session, args, printer).await,
        RoutineCommand::Show(args) => show::perform(session, args, printer).await,
        RoutineCommand::Edit(args) => edit::perform(session, args, printer).await,
    }
}
