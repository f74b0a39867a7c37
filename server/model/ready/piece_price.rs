//! What a piece is bought for: by what suppliers ask, else by the make's own price.
//!
//! Serves the cost sheet, and the check where it looks for what helps most for its price.

use rust_decimal::Decimal;

use crate::Book;
use crate::ground::ids::Id;

/// What a make is sold for: the price of a pack, and the pieces in it, towels by the towel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct PackPrice {
    /// Price of one pack.
    pub(crate) price: Decimal,
    /// Pieces in it.
    pub(crate) piece_count: i64,
}

impl PackPrice {
    /// Of all suppliers the cheapest by the piece, else the make's own price; `None` without any.
    pub(crate) fn of(book: &Book, make: &Id) -> Option<Self> {
        let offers = book.suppliers().filter_map(|supplier| {
            let offer = supplier.offer(make)?;
            Some(Self {
                price: offer.price_at(1)?.amount,
                piece_count: offer.pack_count,
            })
        });
        let own = || {
            let make = book.make(make)?;
            Some(Self {
                price: make.price?.amount,
                piece_count: make.pack_count,
            })
        };
        offers.min_by_key(Self::of_piece).or_else(own)
    }

    /// Price of one piece.
    pub(crate) fn of_piece(&self) -> Option<Decimal> {
        self.price.checked_div(self.piece_count.max(1).into())
    }
}
