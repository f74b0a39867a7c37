//! `book reverse SEQ`: takes a mistaken entry back by a new one that names it.
//!
//! It serves slips. The mistaken entry stays; what followed from it is put right.

use clap::Args;
use fettlebook_contract::v1::ReverseEntryRequest;

use crate::commands::common::{Told, record};
use crate::commands::make::figures::whole;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;
use crate::request;

/// What `book reverse` takes.
#[derive(Args, Debug)]
pub(crate) struct Reverse {
    /// Number of the entry
    #[arg(value_name = "SEQ", value_parser = whole)]
    pub(crate) seq: i64,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Reverses the entry.
pub(crate) async fn perform(
    session: &Session,
    args: &Reverse,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let reverse = ReverseEntryRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        seq: args.seq,
    };
    record(session, printer, reverse).await
}
