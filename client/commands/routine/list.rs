//! `routine list`: the routines, by id.
//!
//! It serves looking up an id before booking.

use clap::Args;
use fettlebook_contract::v1::ListRoutinesRequest;

use crate::commands::common::ListForm;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::page;
use crate::render::{Printer, routine};

/// What `routine list` takes.
#[derive(Args, Debug)]
pub(crate) struct List {
    #[command(flatten)]
    pub(crate) form: ListForm,
}

/// Lists the routines.
pub(crate) async fn perform(
    session: &Session,
    args: &List,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    args.form.choose(printer);
    let answer = page::every(session, ListRoutinesRequest::default()).await?;
    printer.list(&answer, &answer.routines, routine::list)?;
    Ok(Exit::Done)
}
