//! `order close ID`: says that no more of an order is expected.
//!
//! It serves an order that came short and will stay so. What has come stays in the kit.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::CloseOrderRequest;

use crate::commands::common::{Told, record};
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;
use crate::request;

/// What `order close` takes.
#[derive(Args, Debug)]
pub(crate) struct Close {
    /// Id of the order, for example order-1
    #[arg(value_name = "ORDER", add = ArgValueCompleter::new(complete::orders))]
    pub(crate) order: String,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Records that it is closed.
pub(crate) async fn perform(
    session: &Session,
    args: &Close,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let close = CloseOrderRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        order: args.order.clone(),
    };
    record(session, printer, close).await
}
