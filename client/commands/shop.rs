//! `shop`: the devices of a shop, and what waits on this one.
//!
//! It serves whoever owns the shop and whoever works away from it.

use clap::Subcommand;

use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;

pub(crate) mod devices;
pub(crate) mod pair;
pub(crate) mod sync;
#[cfg(test)]
mod tests;

/// What can be done with a shop.
#[derive(Debug, Subcommand)]
pub(crate) enum ShopCommand {
    /// Pair this device by a code, or make a code for another
    Pair(pair::Pair),
    /// List the devices, shut one out, or give one another role
    Devices(devices::Devices),
    /// Send what waits here, and take a copy of the book along
    Sync(sync::Sync),
}

/// Performs one of them.
pub(crate) async fn perform(
    session: &Session,
    command: &ShopCommand,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    match command {
        ShopCommand::Pair(args) => pair::invite(session, args, printer).await,
        ShopCommand::Devices(args) => devices::perform(session, args, printer).await,
        ShopCommand::Sync(args) => sync::perform(session, args, printer).await,
    }
}
