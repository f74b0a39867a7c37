//! The reorder list: what to order, from whom and by when, so that booked jobs have their kit.
//!
//! Serves whoever buys. Every line says why, by when, how many packs, what it costs and what happens
//! if it is skipped. It reads the book and never changes it.

use jiff::civil::Date;

use crate::ids::Id;
use crate::money::Money;

/// Why something is to be ordered, gravest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Cause {
    /// A booked job would be short without it.
    BookedJob,
    /// A booked job would be carried with less than the chance aimed at.
    CarryChance,
    /// The kept level for jobs that are not booked yet would not be there.
    KeepLevel,
}

/// One thing to order.
#[derive(Debug, Clone, PartialEq)]
pub struct ReorderLine {
    /// Make.
    pub make: Id,
    /// Name of the make.
    pub make_name: String,
    /// Why.
    pub cause: Cause,
    /// Pieces needed beyond what is there and on its way.
    pub need_count: i64,
    /// Packs to order.
    pub pack_count: i64,
    /// Pieces in a pack.
    pub pieces_per_pack: i64,
    /// Price of a pack at that quantity; `None` when no supplier offers it.
    pub price: Option<Money>,
    /// Cost of the line without freight.
    pub cost: Option<Money>,
    /// Last day to order.
    pub order_by: Date,
    /// That day has passed.
    pub is_late: bool,
    /// Day it is needed.
    pub need_on: Date,
    /// Jobs it is for.
    pub jobs: Vec<Id>,
    /// Why, a sentence.
    pub reason: String,
    /// What happens if it is skipped, a sentence.
    pub if_skipped: String,
    /// Quantity that would be cheapest each time at a steady use, pieces; a hint.
    pub economic_count: Option<i64>,
}

/// What to order from one supplier.
#[derive(Debug, Clone, PartialEq)]
pub struct Basket {
    /// Supplier; `None` for what none offers.
    pub supplier: Option<Id>,
    /// Its name.
    pub supplier_name: String,
    /// Lines, late ones first.
    pub lines: Vec<ReorderLine>,
    /// Goods.
    pub goods: Option<Money>,
    /// Freight.
    pub freight: Option<Money>,
    /// Goods and freight.
    pub total: Option<Money>,
    /// Missing to free delivery.
    pub to_free_delivery: Option<Money>,
    /// Missing to the least order.
    pub to_min_order: Option<Money>,
    /// Earliest last day to order among the lines.
    pub order_by: Option<Date>,
}

/// The reorder list.
#[derive(Debug, Clone, PartialEq)]
pub struct ReorderList {
    /// One basket a supplier, the earliest last day to order first; what none offers comes last.
    pub baskets: Vec<Basket>,
    /// What the list takes for granted, a sentence each.
    pub assumptions: Vec<String>,
}
