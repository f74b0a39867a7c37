//! `car list`: the cars, by id.
//!
//! It serves looking up an id before booking.

use clap::Args;
use fettlebook_contract::v1::ListCarsRequest;

use crate::commands::common::ListForm;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::page;
use crate::render::{Printer, car};

/// What `car list` takes.
#[derive(Args, Debug)]
pub(crate) struct List {
    #[command(flatten)]
    pub(crate) form: ListForm,
}

/// Lists the cars.
pub(crate) async fn perform(
    session: &Session,
    args: &List,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    args.form.choose(printer);
    let answer = page::every(session, ListCarsRequest::default()).await?;
    printer.list(&answer, &answer.cars, car::list)?;
    Ok(Exit::Done)
}
