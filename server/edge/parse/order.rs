//! Orders and deliveries from the wire.
//!
//! It serves whoever buys and unpacks. Whether an order may be placed, or came, is for the model to
//! say.

use fettlebook_contract::v1;
use fettlebook_model::command::{Delivery, DeliveryLine, NewOrder, OrderedLine};
use fettlebook_model::{Book, Command, Refusal};

use super::{id, open_date, open_money, open_place, said, tags};

pub(in crate::edge) fn create(sent: v1::CreateOrderRequest, _: &Book) -> Result<Command, Refusal> {
    let lines = sent.lines.iter().map(|line| {
        Ok(OrderedLine {
            make: id("lines.make", &line.make)?,
            pack_count: line.pack_count,
            pieces_per_pack: (line.pieces_per_pack != 0).then_some(line.pieces_per_pack),
            price: open_money("lines.price", line.price.as_ref())?,
        })
    });
    Ok(Command::CreateOrder(Box::new(NewOrder {
        supplier: id("supplier", &sent.supplier)?,
        lines: lines.collect::<Result<_, Refusal>>()?,
        freight: open_money("freight", sent.freight.as_ref())?,
        is_placed: sent.placed,
        said: said(sent.done_time, sent.note)?,
    })))
}

pub(in crate::edge) fn place(sent: v1::PlaceOrderRequest, _: &Book) -> Result<Command, Refusal> {
    Ok(Command::PlaceOrder {
        order: id("order", &sent.order)?,
        said: said(sent.done_time, sent.note)?,
    })
}

pub(in crate::edge) fn close(sent: v1::CloseOrderRequest, _: &Book) -> Result<Command, Refusal> {
    Ok(Command::CloseOrder {
        order: id("order", &sent.order)?,
        said: said(sent.done_time, sent.note)?,
    })
}

pub(in crate::edge) fn receive(
    sent: v1::ReceiveOrderRequest,
    _: &Book,
) -> Result<Command, Refusal> {
    let lines = sent.lines.into_iter().map(|line| {
        Ok(DeliveryLine {
            make: id("lines.make", &line.make)?,
            pack_count: line.pack_count,
            tags: tags("lines.tags", &line.tags)?,
            expiry: open_date("lines.expiry_date", &line.expiry_date)?,
            lot: line.lot,
        })
    });
    Ok(Command::ReceiveOrder(Box::new(Delivery {
        order: id("order", &sent.order)?,
        lines: lines.collect::<Result<_, Refusal>>()?,
        place: open_place("place", &sent.place)?,
        freight: open_money("freight", sent.freight.as_ref())?,
        said: said(sent.done_time, sent.note)?,
    })))
}
