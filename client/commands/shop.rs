//! `shop`: the devices of a shop, and what waits on this one.
//!
//! It serves whoever owns the shop and whoever works away from it.

use std::path::{Path, PathBuf};

use clap::{Args, Subcommand};
use fettlebook_contract::v1::{
    Device, ListDevicesRequest, RevokeDeviceRequest, Role, UpdateDeviceRequest,
};

use crate::commands::common::ListForm;
use crate::commands::noun::listed;
use crate::connect::{Session, Whereabouts};
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::{Printer, shop as words};
use crate::shop::{role, role_word};
use crate::solo::Solo;
use crate::transport::ShopTransport;

mod ahead;
mod codes;
mod export_key;
pub(crate) mod leave;
mod meant;
pub(crate) mod open;
pub(crate) mod pair;
mod parked;
pub(crate) mod sync;
#[cfg(test)]
mod tests;
mod way;

/// What can be done with a shop.
#[derive(Debug, Subcommand)]
pub(crate) enum ShopCommand {
    /// Make a shop of the book on this machine: start its service, and make codes for devices
    Open(open::Open),
    /// Pair this device by a code, or make a code for another
    Pair(pair::Pair),
    /// List the devices, shut one out, or give one another role
    Devices(Devices),
    /// List the codes that nobody has used, or end one
    Codes(codes::Codes),
    /// Give a script what it needs to call the shop: a certificate and a token, in two files
    ExportKey(export_key::ExportKey),
    /// Send what waits here, and take a copy of the book along
    Sync(sync::Sync),
    /// See, mend and send what the shop refused of this device
    Parked(parked::Parked),
    /// Show where this device looks for the shop, and what it holds of it
    Where(way::Where),
    /// Look for the shop at another address from now on
    Address(leave::Address),
    /// Leave the shop: this device uses its own book again
    Leave,
}

/// Performs one that needs no way to the book; nothing for one that does.
pub(crate) async fn without_session(
    command: &ShopCommand,
    folder: &Path,
    book: impl FnOnce() -> Result<PathBuf, Fault>,
    solo: &'static dyn Solo,
    printer: &mut Printer,
) -> Option<Result<Exit, Fault>> {
    Some(match command {
        ShopCommand::Open(args) => match book() {
            Ok(book) => open::perform(args, &book, folder, solo, printer).await,
            Err(fault) => Err(fault),
        },
        ShopCommand::Pair(args) if !args.code.is_empty() => {
            pair::perform(args, folder, solo, printer).await
        }
        ShopCommand::Address(args) => leave::change_address(args, folder, printer).await,
        ShopCommand::Leave => leave::leave(folder, solo, printer).await,
        ShopCommand::Pair(_)
        | ShopCommand::Devices(_)
        | ShopCommand::Codes(_)
        | ShopCommand::ExportKey(_)
        | ShopCommand::Sync(_)
        | ShopCommand::Parked(_)
        | ShopCommand::Where(_) => return None,
    })
}

/// Performs one of them.
pub(crate) async fn perform(
    session: &Session,
    command: &ShopCommand,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    match command {
        ShopCommand::Pair(args) => pair::invite(session, args, printer).await,
        ShopCommand::Open(_) | ShopCommand::Address(_) | ShopCommand::Leave => Err(Fault::usage(
            "shop",
            "This is about the shop as a whole; run it by itself.",
        )),
        ShopCommand::Devices(args) => devices(session, args, printer).await,
        ShopCommand::Codes(args) => codes::perform(session, args, printer).await,
        ShopCommand::ExportKey(args) => export_key::perform(session, args, printer).await,
        ShopCommand::Sync(args) => {
            sync::perform(of_a_shop(session)?, session.solo(), args, printer).await
        }
        ShopCommand::Parked(args) => parked::perform(of_a_shop(session)?, args, printer).await,
        ShopCommand::Where(way::Where {}) => way::tell(of_a_shop(session)?, printer).await,
    }
}

/// The way to the shop, for what is about a device of one.
fn of_a_shop(session: &Session) -> Result<&ShopTransport, Fault> {
    let shop = session.shop().ok_or_else(words::not_in_a_shop)?;
    Ok(shop)
}

/// What `shop devices` takes.
#[derive(Args, Debug)]
pub(crate) struct Devices {
    /// Shut this device out, at once and for good
    #[arg(long, value_name = "NAME", conflicts_with_all = ["role", "csv"])]
    pub(crate) revoke: Option<String>,
    /// Give a device another role: van-b=keep; roles are look, work, keep and own
    #[arg(long, value_name = "NAME=ROLE", value_parser = device_role, conflicts_with = "csv")]
    pub(crate) role: Option<(String, Role)>,
    /// Do so although it is this very device, which cannot take it back by itself
    #[arg(long)]
    pub(crate) this_device: bool,
    #[command(flatten)]
    pub(crate) form: ListForm,
}

/// Reads `van-b=keep`.
fn device_role(text: &str) -> Result<(String, Role), String> {
    let (name, word) = text
        .split_once('=')
        .map(|(name, word)| (name.trim(), word.trim()))
        .filter(|(name, _)| !name.is_empty())
        .ok_or_else(|| format!("'{text}' is not written as NAME=ROLE, for example van-b=keep"))?;
    Ok((name.to_owned(), role(word)?))
}

/// Lists the devices, or changes one.
/// A device that was shut out stays in the list.
pub(crate) async fn devices(
    session: &Session,
    args: &Devices,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    is_shared(session)?;
    if let Some(name) = &args.revoke {
        let comes = "is shut out at once and comes back by a new code only";
        meant::meant(session, name, comes, args.this_device, printer)?;
        let asked = RevokeDeviceRequest { name: name.clone() };
        let answer = session.call(asked).await?;
        printer.answer(&answer, |screen, answer| {
            changed(answer.device.as_ref(), |device| {
                words::revoked(screen, device)
            })
        })?;
        return Ok(Exit::Done);
    }
    if let Some((name, role)) = &args.role {
        if *role != Role::Own {
            let word = role_word(*role);
            let comes = format!("has the role {word} then and cannot take that back by itself");
            meant::meant(session, name, &comes, args.this_device, printer)?;
        }
        let asked = UpdateDeviceRequest {
            name: name.clone(),
            role: (*role).into(),
        };
        let answer = session.call(asked).await?;
        printer.answer(&answer, |screen, answer| {
            changed(answer.device.as_ref(), |device| {
                words::has_role(screen, device)
            })
        })?;
        return Ok(Exit::Done);
    }
    let asked = ListDevicesRequest::default();
    listed(
        session,
        printer,
        args.form,
        asked,
        |answer| answer.devices.as_slice(),
        words::devices,
    )
    .await
}

/// Refuses a book that is nobody else's: it has neither devices nor codes.
fn is_shared(session: &Session) -> Result<(), Fault> {
    let Whereabouts::Folder(folder) = session.whereabouts() else {
        return Ok(());
    };
    if session.is_served() {
        return Ok(());
    }
    let mut fault = Fault::usage(
        "shop",
        format!(
            "The book in {} is yours alone; it has no devices but while its page is open.",
            folder.display()
        ),
    );
    fault.todo = "Pair this device with a shop first, 'fettle shop pair CODE', or open the page for a telephone, \
                  'fettle page --phone', and run this meanwhile."
        .to_owned();
    Err(fault)
}

fn changed(device: Option<&Device>, told: impl FnOnce(&Device) -> String) -> String {
    device.map_or_else(String::new, told)
}
