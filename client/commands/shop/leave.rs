//! `shop leave` and `shop address`: what this device holds of its shop, given up or changed.
//!
//! Neither asks the shop for leave. What waits here stays on the disk, and is sent once this device is
//! paired with the same book again.

use std::fs;
use std::io;
use std::path::Path;

use clap::Args;
use fettlebook_contract::pairing::host_and_port;
use serde_json::json;

use crate::commands::shop::meant::leaves_an_owner;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::outbox::Outbox;
use crate::render::{Form, Printer, shop as words};
use crate::shop::folder::{self, Paired};
use crate::shop::other_books;
use crate::shop::target::Target;
use crate::shop::trouble::Cause;
use crate::shop::trust::Pin;
use crate::shop::wire::Wire;
use crate::solo::Solo;

/// What `shop address` takes.
#[derive(Args, Debug)]
pub(crate) struct Address {
    /// Where this device reaches the shop from now on; without a port 7420
    #[arg(value_name = "HOST:PORT")]
    pub(crate) address: String,
}

/// Leaves the shop: this device uses its own book from now on.
pub(crate) async fn leave(
    folder: &Path,
    solo: &dyn Solo,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let paired = folder::read(folder)?;
    leaves_an_owner(folder).await?;
    let outbox = folder::outbox(folder);
    let waiting = if crate::file::holds_something(&outbox) {
        let outbox = Outbox::open(solo, &outbox).map_err(crate::outbox::NotKept::into_fault)?;
        outbox
            .folded()
            .waiting()
            .chain(outbox.folded().parked())
            .count()
    } else {
        0
    };
    let failed = |error: io::Error| Fault::file(&folder.display().to_string(), &error);
    // First: what waits must be known to be this book's when nothing else says so any more.
    other_books::note_known(folder, solo).map_err(failed)?;
    folder::forget(folder).map_err(failed)?;
    gone(fs::remove_dir_all(folder::copy(folder))).map_err(failed)?;
    match printer.form() {
        Form::Json => printer.document(&json!({
            "device": paired.device,
            "address": paired.address(),
            "waiting": waiting,
        })),
        Form::People | Form::Csv => {
            let text = words::left(printer.screen(), &paired, waiting);
            printer.page(&text);
        }
    }
    Ok(Exit::Done)
}

/// Changes the address of the shop. The service there has to be the same one, as far as it can be reached.
pub(crate) async fn change_address(
    args: &Address,
    folder: &Path,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let held = folder::read(folder)?;
    let (host, port) = host_and_port(&args.address).ok_or_else(|| {
        let mut fault = Fault::usage(
            "HOST:PORT",
            format!("'{}' is not a host and a port.", args.address),
        );
        fault.todo = "Write for example 'fettle shop address 192.168.1.7' or 'fettle shop address \
                      bench.example:7420'."
            .to_owned();
        fault
    })?;
    let mut changed = held.clone();
    changed.host = host;
    changed.port = port;
    let unreached = match reached(&changed).await {
        Ok(()) => None,
        Err(trouble) if trouble.is_another => {
            return Err(words::not_the_shop(&changed, &trouble.why));
        }
        Err(trouble) if reached(&held).await.is_ok() => {
            return Err(words::still_there(&held, &changed, &trouble.why));
        }
        Err(trouble) => Some(trouble.why),
    };
    folder::write(folder, &changed)
        .map_err(|error| Fault::file(&folder.display().to_string(), &error))?;
    match printer.form() {
        Form::Json => printer.document(&json!({
            "address": changed.address(),
            "reached": unreached.is_none(),
        })),
        Form::People | Form::Csv => {
            let text = words::has_address(printer.screen(), &changed, unreached.as_deref());
            printer.page(&text);
        }
    }
    Ok(Exit::Done)
}

/// Why a shop was not reached.
struct Unreached {
    /// Whether something else answers there.
    is_another: bool,
    why: String,
}

async fn reached(paired: &Paired) -> Result<(), Unreached> {
    let pin = Pin::of_pem(&paired.certificate).ok_or_else(|| Unreached {
        is_another: true,
        why: "the certificate kept here is damaged".to_owned(),
    })?;
    let target = Target {
        book_id: Some(paired.book_id.clone()),
        ..Target::at((&paired.host, paired.port), pin)
    };
    match Wire::open(&target, None).await {
        Ok(_) => Ok(()),
        Err(trouble) => Err(Unreached {
            is_another: trouble.cause == Cause::AnotherService,
            why: trouble.to_string(),
        }),
    }
}

fn gone(removed: io::Result<()>) -> io::Result<()> {
    match removed {
        Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
        _ => Ok(()),
    }
}
