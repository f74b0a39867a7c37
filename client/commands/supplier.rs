//! `supplier`: whom one orders from, with terms and price lists.
//!
//! It serves setting up and new price lists. What deliveries have taught of the lead time is the
//! service's to say.

use clap::Subcommand;

use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;

pub(crate) mod add;
pub(crate) mod edit;
pub(crate) mod list;
pub(crate) mod offer;
pub(crate) mod price;
pub(crate) mod show;
pub(crate) mod terms;

/// What can be done with suppliers.
#[derive(Debug, Subcommand)]
pub(crate) enum SupplierCommand {
    /// Set up a supplier
    Add(add::Add),
    /// List the suppliers
    List(list::List),
    /// Show one supplier with its terms and price list
    Show(show::Show),
    /// Change the terms of a supplier
    Edit(edit::Edit),
    /// Put a make on the price list of a supplier, or take it off
    Price(price::Price),
}

/// Performs one of them.
pub(crate) async fn perform(
    session: &Session,
    command: &SupplierCommand,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    match command {
        SupplierCommand::Add(args) => add::perform(session, args, printer).await,
        SupplierCommand::List(args) => list::perform(session, args, printer).await,
        SupplierCommand::Show(args) => show::perform(session, args, printer).await,
        SupplierCommand::Edit(args) => edit::perform(session, args, printer).await,
        SupplierCommand::Price(args) => price::perform(session, args, printer).await,
    }
}
