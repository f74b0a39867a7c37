//! Orders on the wire.
//!
//! It serves reading orders, and the sentence about a new one.

use fettlebook_contract::v1;
use fettlebook_model::money::Money;
use fettlebook_model::order::{Order, OrderLine};

use super::money::money;
use super::{moment, seq};
use crate::edge::words;

pub(in crate::edge) fn order(order: &Order) -> v1::Order {
    v1::Order {
        order: order.id.to_string(),
        supplier: order.supplier.to_string(),
        state: words::order_state_word(order.state()),
        lines: order.lines.iter().map(line).collect(),
        freight: order.freight.map(money),
        total: total(order).map(money),
        placed_time: order.placed_at.map(moment),
        due_date: order.due_on.map(|day| day.to_string()).unwrap_or_default(),
        note: order.note.clone(),
        last_seq: seq(order.last_seq),
    }
}

fn line(line: &OrderLine) -> v1::OrderLine {
    v1::OrderLine {
        make: line.make.to_string(),
        pack_count: line.pack_count,
        pieces_per_pack: line.pieces_per_pack,
        price: Some(money(line.price)),
        received_pack_count: line.received_pack_count,
    }
}

/// Goods and freight together; nothing for a sum that cannot be held.
pub(super) fn total(order: &Order) -> Option<Money> {
    let goods = order.lines.iter().map(|line| {
        let amount = line.price.amount.checked_mul(line.pack_count.into())?;
        Some(Money {
            amount,
            ..line.price
        })
    });
    goods
        .chain(order.freight.map(Some))
        .reduce(|sum, next| {
            let (sum, next) = (sum?, next?);
            let amount = sum.amount.checked_add(next.amount)?;
            Some(Money { amount, ..sum })
        })
        .flatten()
}
