//! `order`: what was ordered and what is still to come.
//!
//! It serves the days between ordering and the parcel. A parcel is taken in with `receive`.

use clap::Subcommand;

use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;

pub(crate) mod add;
pub(crate) mod close;
pub(crate) mod line;
pub(crate) mod list;
pub(crate) mod place;
pub(crate) mod show;

/// What can be done with orders.
#[derive(Debug, Subcommand)]
pub(crate) enum OrderCommand {
    /// Write an order into the book, drafted or placed
    Add(add::Add),
    /// List the orders
    List(list::List),
    /// Show one order with what has come of it
    Show(show::Show),
    /// Say that a drafted order was sent to the supplier
    Place(place::Place),
    /// Say that no more of an order is expected
    Close(close::Close),
}

/// Performs one of them.
pub(crate) async fn perform(
    session: &Session,
    command: &OrderCommand,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    match command {
        OrderCommand::Add(args) => add::perform(session, args, printer).await,
        OrderCommand::List(args) => list::perform(session, args, printer).await,
        OrderCommand::Show(args) => show::perform(session, args, printer).await,
        OrderCommand::Place(args) => place::perform(session, args, printer).await,
        OrderCommand::Close(args) => close::perform(session, args, printer).await,
    }
}
