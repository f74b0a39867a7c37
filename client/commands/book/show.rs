//! `book show SEQ`: one entry with everything it says.
//!
//! It serves the look before a reversal.

use clap::Args;
use fettlebook_contract::v1::GetEntryRequest;

use crate::commands::make::figures::whole;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::{Printer, entry};

/// What `book show` takes.
#[derive(Args, Debug)]
pub(crate) struct Show {
    /// Number of the entry
    #[arg(value_name = "SEQ", value_parser = whole)]
    pub(crate) seq: i64,
}

/// Shows the entry.
pub(crate) async fn perform(
    session: &Session,
    args: &Show,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let answer = session.call(GetEntryRequest { seq: args.seq }).await?;
    printer.answer(&answer, |screen, answer| {
        answer
            .entry
            .as_ref()
            .map_or_else(String::new, |found| entry::details(screen, found))
    })?;
    Ok(Exit::Done)
}
