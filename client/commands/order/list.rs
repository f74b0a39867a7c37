//! `order list`: the orders, latest first.
//!
//! It serves asking what is on its way. Closed orders are listed when asked for.

use clap::Args;
use fettlebook_contract::v1::ListOrdersRequest;

use crate::commands::common::ListForm;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::page;
use crate::render::{Printer, order};

/// What `order list` takes.
#[derive(Args, Debug)]
pub(crate) struct List {
    /// Closed orders too
    #[arg(long)]
    pub(crate) closed: bool,
    #[command(flatten)]
    pub(crate) form: ListForm,
}

/// Lists the orders.
pub(crate) async fn perform(
    session: &Session,
    args: &List,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    args.form.choose(printer);
    let asked = ListOrdersRequest {
        show_closed: args.closed,
        ..ListOrdersRequest::default()
    };
    let answer = page::every(session, asked).await?;
    printer.list(&answer, &answer.orders, order::list)?;
    Ok(Exit::Done)
}
