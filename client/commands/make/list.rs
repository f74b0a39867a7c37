//! `make list`: the makes, by id.
//!
//! It serves looking up an id before receiving or planning.

use clap::Args;
use fettlebook_contract::v1::{ListMakesRequest, ListMakesResponse};

use crate::commands::common::ListForm;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::page;
use crate::render::{Printer, make};

/// What `make list` takes.
#[derive(Args, Debug)]
pub(crate) struct List {
    #[command(flatten)]
    pub(crate) form: ListForm,
}

/// Lists the makes.
pub(crate) async fn perform(
    session: &Session,
    args: &List,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    args.form.choose(printer);
    let answer = all(session).await?;
    printer.list(&answer, &answer.makes, make::list)?;
    Ok(Exit::Done)
}

/// Every make.
///
/// # Errors
/// What the service refused.
pub(crate) async fn all(session: &Session) -> Result<ListMakesResponse, Fault> {
    page::every(session, ListMakesRequest::default()).await
}
