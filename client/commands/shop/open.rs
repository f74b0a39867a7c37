//! `shop open`: makes a shop of the book on this machine, in one command: the service is started, this
//! machine is its first device, and further devices get their codes.
//!
//! It may be run as often as one likes: what is there already stays as it is, so that after a restart of
//! the machine the same command starts the service again.

use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr};
use std::path::Path;

use clap::Args;
use fettlebook_contract::v1::{GetBookRequest, InviteDeviceRequest, InviteDeviceResponse, Role};
use serde_json::{Value, json};

use crate::call;
use crate::commands::shop::pair;
use crate::connect::{Session, Whereabouts};
use crate::exit::Exit;
use crate::fault::Fault;
use crate::json::to_value;
use crate::render::{Form, Printer, code as page, shop as words};
use crate::shop::code::{self, Code, Given};
use crate::shop::folder::{self, Paired};
use crate::shop::place::Place;
use crate::shop::service::{self, Started};
use crate::shop::wire::Wire;
use crate::shop::{role, role_word};
use crate::solo::{Solo, SoloClock, SoloErrorKind};

const HOW: &str = "\
On the machine with the book:     fettle shop open van-a van-b
On each of the vans:              fettle shop pair CODE, as it is shown for it

fettled goes on running when this command has ended; after a restart of the machine run it again, or have \
fettled started by the system. While fettled does not run, fettle on this machine opens the book itself. \
--at HOST:PORT says where devices reach this machine, where that is not its address in its own network.";

/// What `shop open` takes.
#[derive(Args, Debug)]
#[command(after_help = HOW)]
pub(crate) struct Open {
    /// Devices to make codes for; without a role each may work
    #[arg(value_name = "NAME[=ROLE]", value_parser = to_let_in)]
    pub(crate) devices: Vec<(String, Role)>,
    /// Name of this machine in the shop
    #[arg(long, value_name = "NAME", default_value = "bench")]
    pub(crate) name: String,
    /// Address that fettled listens on
    #[arg(long, value_name = "ADDRESS", default_value = "0.0.0.0:7420")]
    pub(crate) listen: SocketAddr,
    /// Where devices reach this machine, where that is not its address in its own network
    #[arg(long, value_name = "HOST:PORT")]
    pub(crate) at: Option<String>,
}

/// Reads `van-a` or `van-a=keep`.
fn to_let_in(text: &str) -> Result<(String, Role), String> {
    match text.split_once('=') {
        None => Ok((text.trim().to_owned(), Role::Work)),
        Some((name, word)) => Ok((name.trim().to_owned(), role(word.trim())?)),
    }
}

/// What was found or done on this machine.
struct Opened {
    /// This machine as a device.
    paired: Paired,
    /// The service, where it was started just now.
    started: Option<Started>,
}

/// Opens the shop of a book, and makes codes for devices.
pub(crate) async fn perform(
    args: &Open,
    book: &Path,
    folder: &Path,
    solo: &'static dyn Solo,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let at = pair::looked_up(args.at.as_deref()).await?;
    let book = std::path::absolute(book)
        .map_err(|error| Fault::file(&book.display().to_string(), &error))?;
    let opened = open(args, &book, folder, solo, printer).await?;
    if printer.form() != Form::Json {
        printer.page(&words::opened(
            printer.screen(),
            &opened.paired,
            opened.started.as_ref(),
        ));
    }
    let place = Whereabouts::Shop {
        folder: folder.to_owned(),
        insists: false,
    };
    let session = Session::open(place, solo, SoloClock::System).await?;
    let invited = invite_all(&session, args, &at, printer).await;
    session.close().await;
    let codes = invited?;
    if printer.form() == Form::Json {
        printer.document(&json!({
            "device": opened.paired.device,
            "address": opened.paired.address(),
            "bookId": opened.paired.book_id,
            "book": book.display().to_string(),
            "process": opened.started.as_ref().map(|started| started.process),
            "codes": codes,
        }));
    }
    Ok(Exit::Done)
}

async fn invite_all(
    session: &Session,
    args: &Open,
    at: &str,
    printer: &mut Printer,
) -> Result<Vec<Value>, Fault> {
    let mut codes = Vec::new();
    for (name, role) in &args.devices {
        let asked = InviteDeviceRequest {
            name: name.clone(),
            role: (*role).into(),
            address: at.to_owned(),
            again: false,
        };
        let answer: InviteDeviceResponse = session.call(asked).await?;
        codes.push(to_value(&answer)?);
        if printer.form() != Form::Json {
            let text = page::invited(printer.screen(), name, role_word(*role), &answer);
            printer.page(&text);
        }
    }
    Ok(codes)
}

/// Sees that the service runs and that this machine is a device of it.
async fn open(
    args: &Open,
    book: &Path,
    folder: &Path,
    solo: &'static dyn Solo,
    printer: &mut Printer,
) -> Result<Opened, Fault> {
    if folder::is_paired(folder) {
        let held = folder::read(folder)?;
        match &held.book {
            None => return Err(of_another_machine(&held)),
            Some(own) if own == book && answers(&held).await => {
                return Ok(Opened {
                    paired: held,
                    started: None,
                });
            }
            Some(_) => {}
        }
    }
    let place = Place::prepare(folder)?;
    let is_served = begin(book, solo, printer).await?;
    let text = solo.invite(book, &args.name)?;
    let code = code::parse(&text).map_err(|why| Fault::usage("shop", why))?;
    let (code, started) = if is_served {
        (code, None)
    } else {
        let started = service::start(book, args.listen, folder).await?;
        (on_this_machine(code, started.listens), Some(started))
    };
    let mut paired = pair::ask(&Given::Long(code)).await?.for_a_device()?;
    paired.book = Some(book.to_owned());
    pair::settle_in(&paired, folder, solo, printer)?;
    place.keep();
    Ok(Opened { paired, started })
}

/// Sees that there is a book, and begins one where there is none; whether another process serves it.
async fn begin(book: &Path, solo: &'static dyn Solo, printer: &mut Printer) -> Result<bool, Fault> {
    match solo.open(book, SoloClock::System).await {
        Ok(opened) => {
            for notice in &opened.notices {
                printer.say(notice);
            }
            drop(opened.channel);
            opened.finish.await;
            Ok(false)
        }
        Err(error) if error.kind == SoloErrorKind::Held => Ok(true),
        Err(error) => Err(Fault::from(error)),
    }
}

/// Whether the service answers that this machine is paired with, and lets it in.
async fn answers(held: &Paired) -> bool {
    let Some(target) = held.target() else {
        return false;
    };
    match Wire::open(&target, Some(&held.token)).await {
        Ok(wire) => call::once(wire, GetBookRequest::default()).await.is_ok(),
        Err(_) => false,
    }
}

/// The code with the address at which this machine reaches its own service.
fn on_this_machine(code: Code, listens: SocketAddr) -> Code {
    let ip = match listens.ip() {
        IpAddr::V4(ip) if ip.is_unspecified() => Ipv4Addr::LOCALHOST.into(),
        IpAddr::V6(ip) if ip.is_unspecified() => Ipv6Addr::LOCALHOST.into(),
        ip => ip,
    };
    Code {
        host: ip.to_string(),
        port: listens.port(),
        ..code
    }
}

fn of_another_machine(held: &Paired) -> Fault {
    let mut fault = Fault::usage(
        "shop",
        format!(
            "This device is {} in the shop at {}; a shop is opened on the machine that has its book.",
            held.device,
            held.address()
        ),
    );
    fault.exit = Exit::Conflict;
    fault.todo =
        "To open one of your own book here leave that one first: 'fettle shop leave'.".to_owned();
    fault
}

#[cfg(test)]
mod tests {
    use super::{on_this_machine, to_let_in};
    use crate::shop::code::Code;
    use fettlebook_contract::v1::Role;

    #[test]
    fn a_device_that_is_let_in_may_work_unless_it_is_said_otherwise() {
        assert_eq!(to_let_in("van-a"), Ok(("van-a".to_owned(), Role::Work)));
        assert_eq!(to_let_in("desk=keep"), Ok(("desk".to_owned(), Role::Keep)));
        assert!(
            to_let_in("desk=boss")
                .unwrap_err()
                .contains("look, work, keep, own")
        );
    }

    #[test]
    fn a_service_that_listens_to_all_is_reached_here_on_this_machine() {
        for (listens, host) in [
            ("0.0.0.0:7420", "127.0.0.1"),
            ("[::]:7420", "::1"),
            ("192.0.2.7:7420", "192.0.2.7"),
        ] {
            let code = Code {
                host: "bench.example".to_owned(),
                port: 1,
                fingerprint: [1; 32],
                secret: "A".to_owned(),
            };
            let code = on_this_machine(code, listens.parse().unwrap());
            assert_eq!((code.host.as_str(), code.port), (host, 7420));
        }
    }
}
