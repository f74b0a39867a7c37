//! `page`: the page at the bench from this machine, for somebody who works alone, with a code for the telephone.
//!
//! It runs until it is ended. Meanwhile every other command on this machine goes through it, so that the book stays
//! open to both.

use std::net::SocketAddr;
use std::path::{Path, PathBuf};

use clap::Args;
use fettlebook_contract::page;
use fettlebook_contract::pairing::host_and_port;
use fettlebook_contract::v1::{ErrorReason, InviteDeviceRequest, InviteDeviceResponse, Role};
use serde_json::json;

use crate::commands::shop::pair::looked_up;
use crate::connect::{Session, Whereabouts};
use crate::exit::Exit;
use crate::fault::{Fault, name_of};
use crate::ids;
use crate::json::to_value;
use crate::paper::{Ground, OnPaper, pairing};
use crate::render::{Form, Printer, code};
use crate::shop::{folder, role, role_word};
use crate::solo::{Solo, SoloClock, SoloListen, SoloServe};

const HOW: &str = "\
For this machine's own browser:   fettle page
For a telephone in the house:     fettle page --phone

The page is open until Ctrl-C ends it; other commands work meanwhile, in another window. The code pairs one \
telephone, once, and it comes in again by itself the next time. 'fettle shop devices' in another window lists \
what is paired, and shuts out what is lost. It is always sealed with TLS; the browser warns once of the \
certificate, which is the book's own: --paper FILE writes a sheet with the code, that warning, and what to compare.";

/// What `page` takes.
#[derive(Args, Debug)]
#[command(after_help = HOW)]
pub(crate) struct Page {
    /// Let a telephone in: listen where this machine is reached in its own network
    #[arg(long, conflicts_with = "listen")]
    pub(crate) phone: bool,
    /// Address to listen on; without it and --phone this machine alone, 127.0.0.1:7420
    #[arg(long, value_name = "ADDRESS")]
    pub(crate) listen: Option<SocketAddr>,
    /// Where the telephone reaches this machine, where that is not the address it listens on
    #[arg(long, value_name = "HOST:PORT")]
    pub(crate) at: Option<String>,
    /// Name for what is paired; without it phone, or browser on this machine alone
    #[arg(long, value_name = "NAME", value_parser = ids::id)]
    pub(crate) name: Option<String>,
    /// What it may do: look, work, keep or own; without it keep
    #[arg(long, value_name = "ROLE", value_parser = role)]
    pub(crate) role: Option<Role>,
    /// Make a code although the name is paired: the one before is shut out once it is used
    #[arg(long)]
    pub(crate) again: bool,
    /// Certificate to show instead of the book's own, in PEM: the service's first, the authority's last
    #[arg(long, value_name = "FILE", requires = "key")]
    pub(crate) certificate: Option<PathBuf>,
    /// Key of that certificate, in PEM
    #[arg(long, value_name = "FILE", requires = "certificate")]
    pub(crate) key: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) paper: OnPaper,
}

/// Opens the page and keeps it open.
pub(crate) async fn perform(
    args: &Page,
    place: Whereabouts,
    solo: &'static dyn Solo,
    clock: SoloClock,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let folder = own_book(&place)?.to_owned();
    let at = looked_up(args.at.as_deref()).await?;
    if solo.reach(&folder).await.is_some() {
        return Err(open_already());
    }
    let asked = SoloServe {
        folder,
        listen: args.listens(),
        certificate: args.certificate.clone().zip(args.key.clone()),
    };
    let served = solo.serve(&asked, clock.clone()).await?;
    for notice in &served.session.notices {
        printer.say(notice);
    }
    let session = Session::served(served.session.channel, place, solo, clock);
    let address = if at.is_empty() { served.address } else { at };
    let told = tell(args, &session, &address, printer).await;
    let ended = match told {
        Ok(()) => {
            printer.flush();
            served.asked_to_end.await.map_err(Fault::from)
        }
        Err(fault) => Err(fault),
    };
    session.close().await;
    served.session.finish.await;
    ended?;
    printer.say("The page is closed.");
    Ok(Exit::Done)
}

impl Page {
    fn listens(&self) -> SoloListen {
        match self.listen {
            Some(address) => SoloListen::At(address),
            None if self.phone => SoloListen::Found,
            None => SoloListen::Here,
        }
    }

    fn name(&self) -> &str {
        let is_here = self.listens() == SoloListen::Here;
        let usual = if is_here { "browser" } else { "phone" };
        self.name.as_deref().unwrap_or(usual)
    }
}

/// Tells where the page is, with a code for who is not paired yet.
async fn tell(
    args: &Page,
    session: &Session,
    address: &str,
    printer: &mut Printer,
) -> Result<(), Fault> {
    let (name, role) = (args.name(), args.role.unwrap_or(Role::Keep));
    let asked = InviteDeviceRequest {
        name: name.to_owned(),
        role: role.into(),
        address: address.to_owned(),
        again: args.again,
    };
    let invited = match session.call(asked).await {
        Ok(answer) => Some(answer),
        Err(fault) if fault.reason == name_of(ErrorReason::IdTaken) => None,
        Err(fault) => return Err(fault),
    };
    let (host, port) = host_and_port(address).ok_or_else(|| Fault::answer("its address"))?;
    let first = page::first(&host, port);
    match printer.form() {
        Form::Json => printer.document(&json!({
            "address": first,
            "name": name,
            "role": role_word(role),
            "code": invited.as_ref().map(to_value).transpose()?,
        })),
        Form::People | Form::Csv => printer.page(&told(args, &first, invited.as_ref(), printer)),
    }
    if let Some(answer) = &invited {
        let sheet = |ground: &Ground<'_>| pairing::html(ground, name, role_word(role), answer);
        args.paper
            .put(session, "The sheet with the code", printer, sheet)?;
    }
    Ok(())
}

fn told(
    args: &Page,
    first: &str,
    invited: Option<&InviteDeviceResponse>,
    printer: &Printer,
) -> String {
    let (screen, name) = (printer.screen(), args.name());
    let role = role_word(args.role.unwrap_or(Role::Keep));
    let open = format!("The page is open at {first} until Ctrl-C ends it here.");
    let open = screen.hung("", "  ", &open);
    match invited {
        Some(answer) => format!("{}\n{open}", code::for_browser(screen, name, role, answer)),
        None => {
            let known = format!(
                "{name} had a code before and comes in without one. For another: --name NAME; for {name} anew: \
                 --again."
            );
            format!("{open}\n{}", screen.hung("", "  ", &known))
        }
    }
}

/// The folder of the book of whoever works alone.
fn own_book(place: &Whereabouts) -> Result<&Path, Fault> {
    match place {
        Whereabouts::Folder(folder) => Ok(folder),
        Whereabouts::Shop { folder, .. } => {
            let address = folder::read(folder).map(|held| page::first(&held.host, held.port));
            let mut fault = Fault::usage(
                "page",
                "This device is in a shop, whose fettled has the page open already.",
            );
            fault.todo = format!(
                "It is at {}. 'fettle shop pair --name phone' makes a code for a telephone.",
                address.unwrap_or_else(|_| "the address of the shop".to_owned())
            );
            Err(fault)
        }
        Whereabouts::At(_) => {
            let mut fault = Fault::usage(
                "page",
                "A book that is served at an address is not opened a second time.",
            );
            fault.todo = "fettled has the page beside it where it speaks TLS: start it with --tls."
                .to_owned();
            Err(fault)
        }
    }
}

fn open_already() -> Fault {
    let mut fault = Fault::usage(
        "page",
        "The page of this book is open already, in another window.",
    );
    fault.exit = Exit::Conflict;
    fault.todo = "'fettle shop pair --name NAME' makes a code for another telephone; to open it otherwise end that \
                  one with Ctrl-C first."
        .to_owned();
    fault
}
