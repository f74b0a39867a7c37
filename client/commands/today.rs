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
    let asked = GetTodayRequest {
        place: session.van().unwrap_or_default(),
    };
    let answer = session.call(asked).await?;
    let waiting = session.shop().map_or(0, |shop| shop.waiting().len());
    printer.answer(&answer, |screen, answer| {
        today::show(screen, answer, waiting)
    })?;
    Ok(Exit::Done)
}
