//! `today`, and `fettle` alone: where the shop stands, and what to do now.
//!
//! It writes nothing. What waits on this device for the shop is this device's to say; all else is the
//! service's answer.

use clap::Args;
use fettlebook_contract::v1::GetTodayRequest;

use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::{Printer, today};

/// What `today` takes.
#[derive(Args, Debug, Default)]
pub(crate) struct Today {}

/// Says where the shop stands.
pub(crate) async fn perform(session: &Session, printer: &mut Printer) -> Result<Exit, Fault> {
    let answer = session.call(GetTodayRequest {}).await?;
    let here = here(session);
    printer.answer(&answer, |screen, answer| today::show(screen, answer, &here))?;
    Ok(Exit::Done)
}

/// What this device knows of itself.
fn here(session: &Session) -> today::Here {
    let Some(shop) = session.shop() else {
        return today::Here::default();
    };
    today::Here {
        device: shop.paired().device,
        waiting: shop.waiting().len(),
    }
}
