//! `order place ID`: says that a drafted order was sent to the supplier.
//!
//! It serves the moment after the telephone call. From then on it is expected.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::PlaceOrderRequest;

use crate::commands::common::{Told, record};
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;
use crate::request;

/// What `order place` takes.
#[derive(Args, Debug)]
pub(crate) struct Place {
    /// Id of the order, for example order-1
    #[arg(value_name = "ORDER", add = ArgValueCompleter::new(complete::orders))]
    pub(crate) order: String,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Records that it was sent.
pub(crate) async fn perform(
    session: &Session,
    args: &Place,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let place = PlaceOrderRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        order: args.order.clone(),
    };
    record(session, printer, place).await
}
