//! `supplier list`: the suppliers, by id.
//!
//! It serves looking up an id and comparing terms.

use clap::Args;
use fettlebook_contract::v1::{ListSuppliersRequest, ListSuppliersResponse};

use crate::commands::common::ListForm;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::page;
use crate::render::{Printer, supplier};

/// What `supplier list` takes.
#[derive(Args, Debug)]
pub(crate) struct List {
    #[command(flatten)]
    pub(crate) form: ListForm,
}

/// Lists the suppliers.
pub(crate) async fn perform(
    session: &Session,
    args: &List,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    args.form.choose(printer);
    let answer = all(session).await?;
    printer.list(&answer, &answer.suppliers, supplier::list)?;
    Ok(Exit::Done)
}

/// Every supplier.
///
/// # Errors
/// What the service refused.
pub(crate) async fn all(session: &Session) -> Result<ListSuppliersResponse, Fault> {
    page::every(session, ListSuppliersRequest::default()).await
}
