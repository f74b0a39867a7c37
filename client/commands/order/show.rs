//! `order show ID`: one order with what has come of it.
//!
//! It serves opening a parcel.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::GetOrderRequest;

use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::{Printer, order};

/// What `order show` takes.
#[derive(Args, Debug)]
pub(crate) struct Show {
    /// Id of the order, for example order-1
    #[arg(value_name = "ORDER", add = ArgValueCompleter::new(complete::orders))]
    pub(crate) order: String,
}

/// Shows the order.
pub(crate) async fn perform(
    session: &Session,
    args: &Show,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = GetOrderRequest {
        order: args.order.clone(),
    };
    let answer = session.call(asked).await?;
    printer.answer(&answer, |screen, answer| {
        answer
            .order
            .as_ref()
            .map_or_else(String::new, |found| order::show(screen, found))
    })?;
    Ok(Exit::Done)
}
