//! What pieces cost when they came, as it goes into the book with them.
//!
//! A delivery works it out; of pieces that are taken over from another book it is told. A piece of which some is
//! used up is worth what of its cost is left in it.

use rust_decimal::Decimal;

use crate::Book;
use crate::ground::ids::Id;
use crate::ground::money::Money;
use crate::ground::refusal::{Reason, Refusal};
use crate::maths::cost::CostError;
use crate::ready::stock_cost::{average_after, book_currency};
use crate::trade::kit::PieceCost;

/// Decimals below the coin at which the part of a cost is kept.
const PART_PLACES: u32 = 4;

/// Pieces of a make that come in one after the other, each with its cost.
pub(super) struct Arrivals<'a> {
    book: &'a Book,
    make: &'a Id,
    came: Vec<(i64, Decimal)>,
}

impl<'a> Arrivals<'a> {
    /// None yet.
    pub(super) const fn of(book: &'a Book, make: &'a Id) -> Self {
        let came = Vec::new();
        Self { book, make, came }
    }

    /// The cost of the next, which holds so much.
    ///
    /// # Errors
    /// When a sum needs more digits than can be held.
    pub(super) fn next(&mut self, quantity: i64, landed: Money) -> Result<PieceCost, CostError> {
        self.came.push((quantity, landed.amount));
        self.beside(quantity, landed)
    }

    /// The cost of one that is history when it comes, and leaves what the others cost as it is.
    ///
    /// # Errors
    /// When a sum needs more digits than can be held.
    pub(super) fn beside(&self, quantity: i64, landed: Money) -> Result<PieceCost, CostError> {
        let average = average_after(self.book, self.make, &self.came)?;
        Ok(PieceCost {
            landed,
            quantity,
            average,
        })
    }
}

/// What is left of a cost in a piece that held `whole` for it and holds `held` now; nothing where it is empty. What
/// was poured into it or found in it since adds nothing.
///
/// Formula: cost × held / whole, rounded to four decimals below the coin.
pub(super) fn left_of(landed: Money, held: i64, whole: i64) -> Option<Money> {
    if held <= 0 {
        return None;
    }
    if held >= whole {
        return Some(landed);
    }
    let part = landed.amount.checked_mul(held.into())?;
    let part = part.checked_div(whole.into())?;
    let places = landed.currency.places().saturating_add(PART_PLACES);
    Some(Money {
        amount: part.round_dp(places).normalize(),
        currency: landed.currency,
    })
}

/// Refuses a cost in another currency than the book's.
///
/// # Errors
/// When it is in another.
pub(super) fn in_book_currency(book: &Book, field: &str, landed: Money) -> Result<(), Refusal> {
    match book_currency(book)? {
        Some(known) if known != landed.currency => Err(Refusal::new(
            Reason::CurrencyMismatch,
            field,
            format!("It cost {}; the book keeps to {known}.", landed.currency),
            format!("Give what it cost in {known}, or leave it out."),
        )),
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::left_of;
    use crate::ground::money::Money;

    fn eur(amount: &str) -> Money {
        Money::parse(amount, "EUR").unwrap()
    }

    /// Worked by hand: a bottle of 1000 at 14.50 with 300 in it is worth 4.35; one of three thirds 4.833333.
    #[test]
    fn a_piece_is_worth_what_of_its_cost_is_left_in_it() {
        assert_eq!(left_of(eur("14.50"), 300, 1_000), Some(eur("4.35")));
        assert_eq!(left_of(eur("14.50"), 1, 3), Some(eur("4.833333")));
        assert_eq!(left_of(eur("14.50"), 1_000, 1_000), Some(eur("14.50")));
        assert_eq!(left_of(eur("14.50"), 1_200, 1_000), Some(eur("14.50")));
        assert_eq!(left_of(eur("14.50"), 0, 1_000), None);
        assert_eq!(left_of(eur("14.50"), -5, 1_000), None);
    }
}
