//! Orders: writing, placing and closing them.
//!
//! Serves whoever buys. An order is a wish and may be refused; a delivery has happened, and is
//! refused only where it cannot be understood. An order's lines are never changed once written.

mod delivery;

use std::collections::BTreeSet;
use std::sync::Arc;

use jiff::ToSpan as _;
use jiff::civil::Date;

pub(super) use delivery::receive;

use super::Decision;
use super::bounds::within;
use super::receive::PIECES_MAX;
use crate::book::command::{NewOrder, OrderedLine, Said};
use crate::book::deed::Deed;
use crate::ground::ids::Id;
use crate::ground::money::Money;
use crate::ground::refusal::{Reason, Refusal};
use crate::ready::local_day::LocalDays;
use crate::ready::stock_cost::book_currency;
use crate::trade::order::{Order, OrderLine, OrderState};
use crate::trade::supplier::Supplier;
use crate::{Book, Moment};

/// Most lines of an order.
const LINES_MAX: usize = 200;
/// What an order's id begins with.
const ID_BEGINS: &str = "order-";

pub(super) fn create(book: &Book, new: &NewOrder, now: Moment) -> Result<Decision, Refusal> {
    let decision = Decision::of(&new.said, now)?;
    let supplier = find_supplier(book, &new.supplier)?;
    if new.lines.is_empty() {
        return Err(Refusal::missing("lines", "Give at least one line."));
    }
    if new.lines.len() > LINES_MAX {
        return Err(Refusal::invalid(
            "lines",
            format!("An order has at most {LINES_MAX} lines."),
            "Split it.",
        ));
    }
    let mut makes = BTreeSet::new();
    let lines = new
        .lines
        .iter()
        .map(|line| {
            if makes.insert(&line.make) {
                order_line(book, supplier, line)
            } else {
                Err(Refusal::invalid(
                    "lines.make",
                    format!("{} is in the order twice.", line.make),
                    "Put it in one line.",
                ))
            }
        })
        .collect::<Result<Vec<_>, _>>()?;
    one_currency(book, &lines, new.freight)?;
    let freight = new.freight.or_else(|| freight_of(supplier, &lines));
    let placed = new.is_placed.then_some(decision.done_at);
    let order = Order {
        id: next_id(book)?,
        supplier: supplier.id.clone(),
        lines,
        freight,
        placed_at: placed,
        due_on: placed.map(|at| due_on(book, supplier, at)),
        delivered_at: None,
        is_closed: false,
        note: new.said.note.clone(),
        last_seq: crate::Seq::default(),
    };
    let order = Arc::new(order);
    Ok(decision.with(vec![Deed::OrderSet { order }], Vec::new()))
}

fn find_supplier<'a>(book: &'a Book, id: &Id) -> Result<&'a Supplier, Refusal> {
    let supplier = book.supplier(id).map(AsRef::as_ref);
    supplier.ok_or_else(|| Refusal::no_id(Reason::SupplierUnknown, "supplier", "supplier", id))
}

fn order_line(book: &Book, supplier: &Supplier, line: &OrderedLine) -> Result<OrderLine, Refusal> {
    let id = &line.make;
    if book.make(id).is_none() {
        return Err(Refusal::no_id(
            Reason::MakeUnknown,
            "lines.make",
            "make",
            id,
        ));
    }
    let offer = supplier.offer(id);
    let pieces = line.pieces_per_pack.or(offer.map(|offer| offer.pack_count));
    let price = line
        .price
        .or_else(|| offer.and_then(|offer| offer.price_at(line.pack_count)));
    let (Some(pieces_per_pack), Some(price)) = (pieces, price) else {
        return Err(Refusal::missing(
            "lines.price",
            &format!(
                "{} does not list {id}: give its price and the pieces in a pack.",
                supplier.name
            ),
        ));
    };
    within(
        "lines.pieces_per_pack",
        pieces_per_pack,
        1,
        PIECES_MAX,
        "pieces, as many as come in at once",
    )?;
    if price.amount.is_zero() {
        return Err(Refusal::quantity(
            "lines.price",
            format!("{id} would cost nothing."),
            "Give the price of a pack.",
        ));
    }
    Ok(OrderLine {
        make: id.clone(),
        pack_count: line.pack_count,
        pieces_per_pack,
        price,
        received_pack_count: 0,
    })
}

/// Refuses sums in another currency than the rest of the book: what comes is costed with it.
fn one_currency(book: &Book, lines: &[OrderLine], freight: Option<Money>) -> Result<(), Refusal> {
    let mut first = book_currency(book)?;
    for money in lines.iter().map(|line| line.price).chain(freight) {
        let currency = *first.get_or_insert(money.currency);
        if money.currency != currency {
            return Err(mixed(currency, money));
        }
    }
    Ok(())
}

fn mixed(currency: crate::ground::money::Currency, money: Money) -> Refusal {
    Refusal::new(
        Reason::CurrencyMismatch,
        "lines.price",
        format!(
            "{} meets {currency}; a book keeps to one currency.",
            money.currency
        ),
        format!("Give all sums in {currency}."),
    )
}

/// Freight by the supplier's terms for goods of this value.
fn freight_of(supplier: &Supplier, lines: &[OrderLine]) -> Option<Money> {
    let freight = supplier.freight?;
    let goods = goods(lines)?;
    match supplier.free_delivery_from {
        Some(free) if goods >= free.amount => None,
        _ => Some(freight),
    }
}

/// Value of the goods; `None` where it does not fit.
fn goods(lines: &[OrderLine]) -> Option<rust_decimal::Decimal> {
    lines
        .iter()
        .try_fold(rust_decimal::Decimal::ZERO, |sum, line| {
            sum.checked_add(line.price.amount.checked_mul(line.pack_count.into())?)
        })
}

/// The next free id of an order.
fn next_id(book: &Book) -> Result<Id, Refusal> {
    let number = |id: &Id| id.as_str().strip_prefix(ID_BEGINS)?.parse::<u64>().ok();
    let known = book.orders().map(|order| &order.id);
    let last = known
        .chain(book.orders_taken_back())
        .filter_map(number)
        .max();
    let next = last.unwrap_or(0).saturating_add(1);
    format!("{ID_BEGINS}{next}").parse().map_err(|_| {
        Refusal::new(
            Reason::FieldInvalid,
            "",
            "There are no more numbers for orders.",
            "Keep a new book.",
        )
    })
}

/// The day an order placed at this moment is expected.
fn due_on(book: &Book, supplier: &Supplier, placed_at: Moment) -> Date {
    let lead = crate::ready::lead::planned_lead(book, supplier).days;
    let placed_on = LocalDays::of(book).day(placed_at);
    placed_on.checked_add(lead.days()).unwrap_or(Date::MAX)
}

/// An order in the book.
pub(super) fn find<'a>(book: &'a Book, id: &Id) -> Result<&'a Order, Refusal> {
    let order = book.order(id).map(AsRef::as_ref);
    order.ok_or_else(|| {
        Refusal::new(
            Reason::OrderUnknown,
            "order",
            format!("The book has no order {id}."),
            "List the orders.",
        )
    })
}

pub(super) fn place(book: &Book, said: &Said, id: &Id, now: Moment) -> Result<Decision, Refusal> {
    let decision = Decision::of(said, now)?;
    let order = find(book, id)?;
    if order.state() != OrderState::Drafted {
        return Err(wrong_state(order, "Only a drafted order is placed."));
    }
    let supplier = find_supplier(book, &order.supplier)?;
    let due_on = due_on(book, supplier, decision.done_at);
    let placed = Deed::OrderPlaced {
        order: id.clone(),
        due_on,
    };
    Ok(decision.with(vec![placed], Vec::new()))
}

pub(super) fn close(book: &Book, said: &Said, id: &Id, now: Moment) -> Result<Decision, Refusal> {
    let decision = Decision::of(said, now)?;
    let order = find(book, id)?;
    if order.state() == OrderState::Closed {
        return Err(wrong_state(order, "There is nothing to do."));
    }
    let closed = Deed::OrderClosed { order: id.clone() };
    Ok(decision.with(vec![closed], Vec::new()))
}

fn wrong_state(order: &Order, todo: &str) -> Refusal {
    Refusal::new(
        Reason::OrderState,
        "order",
        format!("{} is {}.", order.id, order.state().word()),
        todo,
    )
}
