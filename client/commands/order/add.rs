//! `order add SUPPLIER LINE..`: writes an order into the book.
//!
//! It serves orders that `reorder` does not propose. It is drafted, unless it is said to be placed.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{CreateOrderRequest, Money, OrderLine};

use super::line::line;
use crate::commands::common::{Told, record};
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::options;
use crate::render::Printer;
use crate::request;

/// What `order add` takes.
#[derive(Args, Debug)]
pub(crate) struct Add {
    /// The supplier
    #[arg(value_name = "SUPPLIER", add = ArgValueCompleter::new(complete::suppliers))]
    pub(crate) supplier: String,
    /// What is ordered, in packs: fine-foam-150=2; pack and price are by the supplier's price list, or
    /// said here: 'fine-foam-150=2 packs of 2 at 17.90 EUR'
    #[arg(required = true, value_name = "MAKE=PACKS", value_parser = line)]
    pub(crate) lines: Vec<OrderLine>,
    /// It is sent to the supplier; without it the order is drafted
    #[arg(long)]
    pub(crate) placed: bool,
    /// Freight, for example '6.90 EUR'; without it by the supplier's terms
    #[arg(long, value_name = "SUM", value_parser = options::money)]
    pub(crate) freight: Option<Money>,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Writes the order.
pub(crate) async fn perform(
    session: &Session,
    args: &Add,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let create = CreateOrderRequest {
        request_id: request::new_id(),
        supplier: args.supplier.clone(),
        lines: args.lines.clone(),
        freight: args.freight.clone(),
        placed: args.placed,
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
    };
    record(session, printer, create).await
}
