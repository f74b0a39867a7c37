//! `doctor`: what is well with the book, its service and this device, and what is not, on one screen.
//!
//! It changes nothing. What cannot be asked, because the shop is out of reach, is said to be so; the rest is told
//! all the same.

use std::rc::Rc;

use clap::Args;
use fettlebook_contract::v1::{Device, GetConditionRequest, ListDevicesRequest, Role};
use tonic::Code;

use crate::connect::{Session, Whereabouts};
use crate::exit::Exit;
use crate::fault::Fault;
use crate::page;
use crate::render::doctor::{self, Answered, Facts, Held, Place};
use crate::render::{Form, Printer};
use crate::shop::trouble::Trouble;
use crate::shop::{folder, role_word};
use crate::transport::ShopTransport;

const CODES: &str = "\
Exit codes: 0 all is well, 3 something is not and is told with what to do, 6 the shop is out of reach (what can be
told without it is), 8 damage was found in the book.";

/// What `doctor` takes.
#[derive(Args, Debug)]
#[command(after_help = CODES)]
pub(crate) struct Doctor {}

/// Looks at everything and tells it.
pub(crate) async fn perform(session: &Session, printer: &mut Printer) -> Result<Exit, Fault> {
    let answered = ask(session).await?;
    let facts = Facts {
        now: session.now().timestamp(),
        place: place(session, &answered),
        held: session.shop().map(held),
        devices: devices(session, &answered).await?,
        answered,
    };
    let lines = doctor::lines(printer.screen(), &facts);
    match printer.form() {
        Form::Json => printer.document(&doctor::document(&facts, &lines)?),
        Form::People | Form::Csv => {
            let page = doctor::page(printer.screen(), &facts, &lines);
            printer.page(&page);
        }
    }
    Ok(ending(&facts, doctor::is_well(&lines)))
}

/// How it ends: damage before all, then that nothing could be asked.
fn ending(facts: &Facts, is_well: bool) -> Exit {
    match &facts.answered {
        Answered::Condition(condition) if condition.damaged => Exit::Damage,
        Answered::Away(_) => Exit::Unreachable,
        _ if is_well => Exit::Done,
        _ => Exit::No,
    }
}

/// What the service says of itself.
async fn ask(session: &Session) -> Result<Answered, Fault> {
    if let Some(shop) = session.shop().filter(|shop| shop.reachable().is_none()) {
        return Ok(Answered::Away(shop.told_away()));
    }
    let asked = session.once(GetConditionRequest {}).await;
    match asked {
        Ok(condition) => Ok(Answered::Condition(Box::new(condition))),
        Err(status) if status.code() == Code::Unimplemented => Ok(Answered::Older),
        Err(status) => {
            let fault = Fault::from(status);
            match session.shop() {
                Some(shop) if fault.exit == Exit::Unreachable => {
                    shop.go_away(Trouble::lost(fault.message));
                    Ok(Answered::Away(shop.told_away()))
                }
                _ => Err(fault),
            }
        }
    }
}

fn place(session: &Session, answered: &Answered) -> Place {
    match (session.whereabouts(), session.shop()) {
        (_, Some(shop)) => {
            let paired = shop.paired();
            let is_away = matches!(answered, Answered::Away(_));
            Place::Shop {
                address: paired.address(),
                device: paired.device.clone(),
                is_here: is_away && shop.book_here().is_some(),
                role: paired.role,
            }
        }
        (Whereabouts::Folder(folder), None) => Place::Folder(folder.display().to_string()),
        (Whereabouts::At(address), None) => Place::At(address.clone()),
        (Whereabouts::Shop { folder, .. }, None) => Place::Folder(folder.display().to_string()),
    }
}

/// What this device holds of its shop.
fn held(shop: &Rc<ShopTransport>) -> Held {
    let copied = shop.copy_standing().map(|copy| copy.as_of_time);
    let outbox = folder::outbox(shop.folder());
    if !crate::file::holds_something(&outbox) {
        return Held {
            copied,
            ..Held::default()
        };
    }
    match shop.open_outbox() {
        Ok(outbox) => Held {
            waiting_count: outbox.folded().waiting().count(),
            parked_count: outbox.folded().parked().count(),
            trouble: String::new(),
            copied,
        },
        Err(not_kept) => Held {
            trouble: not_kept.fault().message.clone(),
            copied,
            ..Held::default()
        },
    }
}

/// The devices of the shop, for whoever owns it.
async fn devices(session: &Session, answered: &Answered) -> Result<Vec<Device>, Fault> {
    let owns = session
        .shop()
        .is_some_and(|shop| shop.paired().role == role_word(Role::Own));
    if !owns || !matches!(answered, Answered::Condition(_)) {
        return Ok(Vec::new());
    }
    let all = page::every(session, ListDevicesRequest::default()).await?;
    let mut devices = all.devices;
    devices.retain(|device| device.revoked_time.is_none());
    Ok(devices)
}
