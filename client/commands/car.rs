//! `car`: cars by class and colour, with their panels.
//!
//! It serves setting up. Areas that are not measured are the service's to estimate, and it says by
//! what.

use clap::Subcommand;

use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;

pub(crate) mod add;
pub(crate) mod edit;
pub(crate) mod list;
pub(crate) mod panels;
pub(crate) mod show;

/// What can be done with cars.
#[derive(Debug, Subcommand)]
pub(crate) enum CarCommand {
    /// Set up a car
    Add(add::Add),
    /// List the cars
    List(list::List),
    /// Show one car with its panels
    Show(show::Show),
    /// Change a car
    Edit(edit::Edit),
}

/// Performs one of them.
pub(crate) async fn perform(
    session: &Session,
    command: &CarCommand,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    match command {
        CarCommand::Add(args) => add::perform(session, args, printer).await,
        CarCommand::List(args) => list::perform(session, args, printer).await,
        CarCommand::Show(args) => show::perform(session, args, printer).await,
        CarCommand::Edit(args) => edit::perform(session, args, printer).await,
    }
}
