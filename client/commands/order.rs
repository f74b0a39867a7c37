//! `order`: what was ordered and what is still to come.
//!
//! It serves the days between ordering and the parcel. A parcel is taken in with `receive`.

use clap::{Args, Subcommand};
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{
    CloseOrderRequest, CreateOrderRequest, GetOrderRequest, ListOrdersRequest, Money, OrderLine,
    PlaceOrderRequest,
};

use crate::commands::common::{ListForm, Told, record};
use crate::commands::noun::{listed, shown};
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::figures::read::whole;
use crate::ids;
use crate::money;
use crate::render::{Printer, order};
use crate::request;

/// What can be done with orders.
#[derive(Debug, Subcommand)]
pub(crate) enum OrderCommand {
    /// Write an order into the book, drafted or placed
    Add(Add),
    /// List the orders
    List(List),
    /// Show one order with what has come of it
    Show(Show),
    /// Say that a drafted order was sent to the supplier
    Place(Place),
    /// Say that no more of an order is expected
    Close(Close),
}

/// Performs one of them.
pub(crate) async fn perform(
    session: &Session,
    command: &OrderCommand,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    match command {
        OrderCommand::Add(args) => add(session, args, printer).await,
        OrderCommand::List(args) => list(session, args, printer).await,
        OrderCommand::Show(args) => show(session, args, printer).await,
        OrderCommand::Place(args) => place(session, args, printer).await,
        OrderCommand::Close(args) => close(session, args, printer).await,
    }
}

/// What `order add` takes.
#[derive(Args, Debug)]
pub(crate) struct Add {
    /// The supplier
    #[arg(value_name = "SUPPLIER", value_parser = ids::id, add = ArgValueCompleter::new(complete::suppliers))]
    pub(crate) supplier: String,
    /// What is ordered, in packs: fine-foam-150=2; pack and price are by the supplier's price list, or
    /// said here: 'fine-foam-150=2 packs of 2 at 17.90 EUR'
    #[arg(required = true, value_name = "MAKE=PACKS", value_parser = line)]
    pub(crate) lines: Vec<OrderLine>,
    /// It is sent to the supplier; without it the order is drafted
    #[arg(long)]
    pub(crate) placed: bool,
    /// Freight, for example '6.90 EUR'; without it by the supplier's terms
    #[arg(long, value_name = "SUM", value_parser = money::read)]
    pub(crate) freight: Option<Money>,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Writes the order.
/// It is drafted, unless it is said to be placed.
pub(crate) async fn add(
    session: &Session,
    args: &Add,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let mut lines = args.lines.clone();
    for line in &mut lines {
        line.price = money::in_book(session, "MAKE=PACKS", line.price.as_ref()).await?;
    }
    let create = CreateOrderRequest {
        request_id: request::new_id(),
        supplier: args.supplier.clone(),
        lines,
        freight: money::in_book(session, "--freight", args.freight.as_ref()).await?,
        placed: args.placed,
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
    };
    record(session, printer, create).await
}

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
/// Closed orders are listed when asked for.
pub(crate) async fn list(
    session: &Session,
    args: &List,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = ListOrdersRequest {
        show_closed: args.closed,
        ..ListOrdersRequest::default()
    };
    listed(
        session,
        printer,
        args.form,
        asked,
        |answer| answer.orders.as_slice(),
        order::list,
    )
    .await
}

/// What `order show` takes.
#[derive(Args, Debug)]
pub(crate) struct Show {
    /// Id of the order, for example order-1
    #[arg(value_name = "ORDER", value_parser = ids::order, add = ArgValueCompleter::new(complete::orders))]
    pub(crate) order: String,
}

/// Shows the order.
pub(crate) async fn show(
    session: &Session,
    args: &Show,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = GetOrderRequest {
        order: args.order.clone(),
    };
    let answer = session.call(asked).await?;
    shown(
        printer,
        &answer,
        answer.order.as_ref(),
        "the order",
        order::show,
    )
}

/// What `order place` takes.
#[derive(Args, Debug)]
pub(crate) struct Place {
    /// Id of the order, for example order-1
    #[arg(value_name = "ORDER", value_parser = ids::order, add = ArgValueCompleter::new(complete::orders))]
    pub(crate) order: String,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Records that it was sent.
/// From then on it is expected.
pub(crate) async fn place(
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

/// What `order close` takes.
#[derive(Args, Debug)]
pub(crate) struct Close {
    /// Id of the order, for example order-1
    #[arg(value_name = "ORDER", value_parser = ids::order, add = ArgValueCompleter::new(complete::orders))]
    pub(crate) order: String,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Records that it is closed.
/// What has come stays in the kit.
pub(crate) async fn close(
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

/// How a line is written.
const LINE_FORMS: &str = "MAKE=PACKS, for example fine-foam-150=2, or, for what is not on the \
     supplier's price list, 'fine-foam-150=2 packs of 2 at 17.90 EUR'";

/// Reads a line of an order.
pub(crate) fn line(text: &str) -> Result<OrderLine, String> {
    let refused = || format!("'{text}' is not a line of an order; write {LINE_FORMS}");
    let (make, rest) = text.split_once('=').ok_or_else(refused)?;
    let make = make.trim();
    let (packs, price) = match rest.split_once(" at ") {
        Some((packs, price)) => {
            let price =
                money::read(price).map_err(|why| format!("{why}; a line is {LINE_FORMS}"))?;
            (packs, Some(price))
        }
        None => (rest, None),
    };
    let (packs, pieces) = match packs.split_once(" of ") {
        Some((packs, pieces)) => (packs, at_least_one(pieces).ok_or_else(refused)?),
        None => (packs, 0),
    };
    let packs = packs.trim();
    let packs = packs
        .strip_suffix("packs")
        .or_else(|| packs.strip_suffix("pack"))
        .unwrap_or(packs);
    if make.is_empty() {
        return Err(refused());
    }
    Ok(OrderLine {
        make: make.to_owned(),
        pack_count: at_least_one(packs).ok_or_else(refused)?,
        pieces_per_pack: pieces,
        price,
        received_pack_count: 0,
    })
}

fn at_least_one(text: &str) -> Option<i64> {
    whole(text.trim()).ok().filter(|count| *count >= 1)
}

#[cfg(test)]
mod tests {
    use super::line;

    #[test]
    fn a_line_is_a_make_and_packs_and_leaves_the_rest_to_the_price_list() {
        for text in ["fine-foam-150=2", "fine-foam-150 = 2 packs"] {
            let read = line(text).unwrap();
            assert_eq!((read.make.as_str(), read.pack_count), ("fine-foam-150", 2));
            assert_eq!((read.pieces_per_pack, read.price), (0, None));
        }
    }

    #[test]
    fn a_line_may_say_its_pack_and_its_price() {
        let read = line("fine-foam-150=1 pack of 2 at 17.90 EUR").unwrap();
        assert_eq!((read.pack_count, read.pieces_per_pack), (1, 2));
        assert_eq!(read.price.unwrap().amount, "17.90");
        let read = line("fine-foam-150=2 at 17,90").unwrap();
        let price = read.price.unwrap();
        assert_eq!(
            (price.amount.as_str(), price.currency_code.as_str()),
            ("17.90", "")
        );
        let read = line("plate-75-m8=3 at 18 EUR").unwrap();
        assert_eq!((read.pack_count, read.pieces_per_pack), (3, 0));
    }

    #[test]
    fn what_is_unclear_is_refused_with_the_accepted_form() {
        for text in [
            "",
            "fine-foam-150",
            "=2",
            "fine-foam-150=",
            "fine-foam-150=0",
            "fine-foam-150=-1",
            "fine-foam-150=1.5",
            "fine-foam-150=two",
            "fine-foam-150=2 boxes",
            "fine-foam-150=2 packs of 0",
            "fine-foam-150=2 at 1,790 EUR",
            "fine-foam-150=2 at a good price",
        ] {
            let refused = line(text).unwrap_err();
            assert!(refused.contains("fine-foam-150=2,"), "{text}: {refused}");
        }
    }
}
