//! Orders and deliveries from the wire.
//!
//! It serves whoever buys and unpacks. Whether an order may be placed, or came, is for the model to
//! say.

use fettlebook_contract::v1;
use fettlebook_model::command::{Delivery, DeliveryLine, NewOrder, OrderedLine};
use fettlebook_model::order::{Order, OrderState};
use fettlebook_model::{Book, Command, Id, Moment, Refusal};

use super::{id, moment, open_date, open_id, open_money, open_place, said, tags};
use crate::edge::words;

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

/// Which orders a list is to hold.
pub(in crate::edge) struct Listed {
    supplier: Option<Id>,
    from: Option<Moment>,
    before: Option<Moment>,
    state: v1::OrderState,
    closed_too: bool,
}

/// What a list is asked for.
pub(in crate::edge) fn listed(sent: &v1::ListOrdersRequest) -> Result<Listed, Refusal> {
    let state = v1::OrderState::try_from(sent.state)
        .map_err(|_| words::unknown("state", sent.state, "OrderState"))?;
    Ok(Listed {
        supplier: open_id("supplier", &sent.supplier)?,
        from: moment("from_time", sent.from_time)?,
        before: moment("before_time", sent.before_time)?,
        state,
        closed_too: sent.show_closed || state == v1::OrderState::Closed,
    })
}

impl Listed {
    /// Whether a list is to hold an order; one that is not placed yet has no time.
    pub(in crate::edge) fn takes(&self, order: &Order) -> bool {
        let placed = order.placed_at;
        let from = self
            .from
            .is_none_or(|from| placed.is_some_and(|at| at >= from));
        let before = self
            .before
            .is_none_or(|before| placed.is_some_and(|at| at < before));
        let state = words::order_state_word(order.state());
        from && before
            && (self.closed_too || order.state() != OrderState::Closed)
            && (self.state == v1::OrderState::Unspecified || i32::from(self.state) == state)
            && self
                .supplier
                .as_ref()
                .is_none_or(|supplier| order.supplier == *supplier)
    }
}
