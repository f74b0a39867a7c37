//! Orders as they are written, and deliveries as they come.

use jiff::civil::Date;

use super::Said;
use crate::ground::ids::{Id, Place, Tag};
use crate::ground::money::Money;

/// An order to be written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewOrder {
    /// When and what.
    pub said: Said,
    /// Supplier.
    pub supplier: Id,
    /// Lines.
    pub lines: Vec<OrderedLine>,
    /// Freight; by the supplier's terms when open.
    pub freight: Option<Money>,
    /// Whether it is sent at once.
    pub is_placed: bool,
}

/// A line of an order to be written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OrderedLine {
    /// Make.
    pub make: Id,
    /// Packs.
    pub pack_count: i64,
    /// Pieces in a pack; by the price list when open.
    pub pieces_per_pack: Option<i64>,
    /// Price of a pack; by the price list when open.
    pub price: Option<Money>,
}

/// What came of an order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Delivery {
    /// When and what.
    pub said: Said,
    /// Order.
    pub order: Id,
    /// What came; all that is still to come when empty.
    pub lines: Vec<DeliveryLine>,
    /// Where it goes.
    pub place: Place,
    /// Freight of this delivery; the order's with its first one when open.
    pub freight: Option<Money>,
}

/// A line of a delivery.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DeliveryLine {
    /// Make.
    pub make: Id,
    /// Packs.
    pub pack_count: i64,
    /// Tags; the next ones when empty.
    pub tags: Vec<Tag>,
    /// Lot of bottles.
    pub lot: String,
    /// Last day bottles may be used.
    pub expiry: Option<Date>,
}

impl DeliveryLine {
    /// So many packs of a make, with nothing said of them.
    #[must_use]
    pub fn all(make: &Id, pack_count: i64) -> Self {
        Self {
            make: make.clone(),
            pack_count,
            tags: Vec::new(),
            lot: String::new(),
            expiry: None,
        }
    }
}
