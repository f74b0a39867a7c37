//! Suppliers: whom one orders from, on what terms, at what prices.
//!
//! Serves the reorder list and orders. What a supplier promises is kept apart from what its
//! deliveries have taught, which follows from the orders.

use jiff::civil::Weekday;
use serde::{Deserialize, Serialize};

use crate::ground::ids::Id;
use crate::ground::money::Money;

pub use crate::ground::money::PriceBreak;

/// Whom one orders from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Supplier {
    /// Id that a person types.
    pub id: Id,
    /// Name as said.
    pub name: String,
    /// Days from order to delivery, as the supplier says.
    pub lead_days: i64,
    /// Least value of an order.
    pub min_order: Option<Money>,
    /// Value of goods from which delivery is free.
    pub free_delivery_from: Option<Money>,
    /// Freight of an order below that.
    pub freight: Option<Money>,
    /// Days on which it takes orders; every day when empty.
    pub order_days: Vec<OrderDay>,
    /// Price list.
    pub offers: Vec<Offer>,
    /// Anything worth remembering.
    pub note: String,
}

/// A day of the week on which orders are taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[expect(missing_docs, reason = "the days need no words")]
pub enum OrderDay {
    Monday,
    Tuesday,
    Wednesday,
    Thursday,
    Friday,
    Saturday,
    Sunday,
}

impl OrderDay {
    /// The calendar's day.
    #[must_use]
    pub const fn weekday(self) -> Weekday {
        match self {
            Self::Monday => Weekday::Monday,
            Self::Tuesday => Weekday::Tuesday,
            Self::Wednesday => Weekday::Wednesday,
            Self::Thursday => Weekday::Thursday,
            Self::Friday => Weekday::Friday,
            Self::Saturday => Weekday::Saturday,
            Self::Sunday => Weekday::Sunday,
        }
    }
}

/// What a supplier asks for a make.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Offer {
    /// Make.
    pub make: Id,
    /// Pieces in a pack: pads, plates, bottles, sundry packs; towels by the towel.
    pub pack_count: i64,
    /// Prices by packs, from one pack on, each holding for all packs of the line.
    pub breaks: Vec<PriceBreak>,
}

impl Offer {
    /// Price of a pack when so many are ordered.
    #[must_use]
    pub(crate) fn price_at(&self, pack_count: i64) -> Option<Money> {
        self.breaks
            .iter()
            .rev()
            .find(|price| price.from_pack_count <= pack_count)
            .or(self.breaks.first())
            .map(|price| price.price)
    }
}

impl Supplier {
    /// What it asks for a make.
    #[must_use]
    pub(crate) fn offer(&self, make: &Id) -> Option<&Offer> {
        self.offers.iter().find(|offer| offer.make == *make)
    }

    /// Every sum of money in its terms and prices.
    pub(crate) fn moneys(&self) -> impl Iterator<Item = Money> {
        let terms = [self.min_order, self.free_delivery_from, self.freight];
        let prices = self.offers.iter().flat_map(|offer| &offer.breaks);
        terms
            .into_iter()
            .flatten()
            .chain(prices.map(|price| price.price))
    }
}
