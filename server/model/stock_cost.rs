//! What stock cost: the value of what is there, and what the next of it costs.
//!
//! Serves job costs and quotes. It reckons in exact decimals, by FIFO layers or by moving average as
//! the book's policy says; what has no known cost is told apart, never taken as free.

use rust_decimal::Decimal;

use crate::ids::Id;
use crate::kit::{Piece, State};
use crate::money::Currency;
use crate::refusal::{Reason, Refusal};
use crate::{Book, Moment};

/// What a piece in this state holds, in the units its make is costed in: µL, towels, a sundry's
/// unit, or 1 for what is counted by the piece. Never below zero.
pub(crate) fn quantity_of(state: &State) -> i64 {
    match state {
        State::Pad(_) | State::Plate(_) | State::Machine(_) => 1,
        State::Bundle(bundle) => bundle.total_count().max(0),
        State::Bottle(bottle) => bottle.left_ul.ul().max(0),
        State::Sundry(sundry) => sundry.left_quantity.max(0),
    }
}

/// What there is of a make, in its units.
pub(crate) fn quantity_left(book: &Book, make: &Id) -> i64 {
    book.pieces_of(make).fold(0_i64, |sum, piece| {
        sum.saturating_add(quantity_of(&piece.state))
    })
}

/// The one currency of a book's prices and of what its stock cost; `None` while it has none.
///
/// # Errors
/// When prices in two currencies meet.
pub(crate) fn book_currency(book: &Book) -> Result<Option<Currency>, Refusal> {
    let of_suppliers = book
        .suppliers()
        .flat_map(|supplier| supplier.moneys().next());
    let of_makes = book.makes().filter_map(|make| make.price);
    let of_stock = book.pieces().filter_map(|piece| Some(piece.cost?.landed));
    let mut known: Option<Currency> = None;
    for price in of_suppliers.chain(of_makes).chain(of_stock) {
        let currency = *known.get_or_insert(price.currency);
        if price.currency != currency {
            return Err(Refusal::new(
                Reason::CurrencyMismatch,
                "make.price",
                format!("Prices in {currency} and in {} meet.", price.currency),
                "Give all prices of makes and suppliers in one currency.",
            ));
        }
    }
    Ok(known)
}

/// Pieces of a make that have a cost, binned ones too, in the order they came.
pub(crate) fn costed<'a>(book: &'a Book, make: &'a Id) -> Vec<&'a Piece> {
    let mut pieces: Vec<&Piece> = book
        .pieces()
        .filter(|piece| piece.make == *make && piece.cost.is_some())
        .map(AsRef::as_ref)
        .collect();
    pieces.sort_by_key(|piece| (piece.received_at, piece.tag));
    pieces
}

/// Cost of one unit of a make by moving average, as it stands, or as it stood at a moment; `None`
/// before anything with a cost came.
pub(crate) fn average_cost(book: &Book, make: &Id, at: Option<Moment>) -> Option<Decimal> {
    let known = costed(book, make);
    let mut there = known.iter().rev();
    let last = there.find(|piece| at.is_none_or(|at| piece.received_at <= at))?;
    Some(last.cost?.average)
}

/// Cost of one unit by moving average after further receipts (quantity and cost), none of it
/// used meanwhile: the value of what was there and of what came, over the quantity of both.
pub(crate) fn average_after(book: &Book, make: &Id, came: &[(i64, Decimal)]) -> Decimal {
    let there = quantity_left(book, make);
    let (there, value) = match average_cost(book, make, None) {
        Some(average) => (there, average.saturating_mul(there.into())),
        // What has no known cost says nothing of what the new costs.
        None => (0, Decimal::ZERO),
    };
    let (quantity, value) = came.iter().fold((there, value), |(quantity, value), one| {
        (quantity.saturating_add(one.0), value.saturating_add(one.1))
    });
    value
        .checked_div(quantity.max(1).into())
        .unwrap_or_default()
}
