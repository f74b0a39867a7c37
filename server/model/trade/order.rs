//! Orders: what was asked of a supplier, and how much of it has come.
//!
//! Serves the reorder list, which counts on what is on its way, and learning a supplier's lead time.
//! An order's lines are never changed once written; what comes is added beside them.

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::Moment;
use crate::ground::ids::{Id, Seq};
use crate::ground::money::Money;

/// An order.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Order {
    /// Id, given by the book.
    pub id: Id,
    /// Supplier.
    pub supplier: Id,
    /// Lines.
    pub lines: Vec<OrderLine>,
    /// Freight that goes with it.
    pub freight: Option<Money>,
    /// When it was sent; `None` while drafted.
    pub placed_at: Option<Moment>,
    /// Day it is expected.
    pub due_on: Option<Date>,
    /// When the first of it came.
    pub delivered_at: Option<Moment>,
    /// No more of it is expected.
    pub is_closed: bool,
    /// Anything worth remembering.
    pub note: String,
    /// Last entry that touched it.
    pub last_seq: Seq,
}

/// A line of an order.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct OrderLine {
    /// Make.
    pub make: Id,
    /// Packs ordered.
    pub pack_count: i64,
    /// Pieces in a pack.
    pub pieces_per_pack: i64,
    /// Price of a pack.
    pub price: Money,
    /// Packs that have come.
    pub received_pack_count: i64,
}

/// Where an order stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OrderState {
    /// Written down, not sent.
    Drafted,
    /// Sent.
    Placed,
    /// Some of it has come.
    PartReceived,
    /// All of it has come, or no more is expected.
    Closed,
}

impl OrderState {
    /// The word as said.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Drafted => "drafted",
            Self::Placed => "placed",
            Self::PartReceived => "received in part",
            Self::Closed => "closed",
        }
    }
}

impl OrderLine {
    /// Packs still to come.
    #[must_use]
    pub fn open_pack_count(&self) -> i64 {
        self.pack_count
            .saturating_sub(self.received_pack_count)
            .max(0)
    }
}

impl Order {
    /// Where it stands.
    #[must_use]
    pub fn state(&self) -> OrderState {
        let came = self.lines.iter().any(|line| line.received_pack_count > 0);
        let open = self.lines.iter().any(|line| line.open_pack_count() > 0);
        if self.is_closed || !open {
            OrderState::Closed
        } else if came {
            OrderState::PartReceived
        } else if self.placed_at.is_some() {
            OrderState::Placed
        } else {
            OrderState::Drafted
        }
    }

    /// Whether something of it is on its way.
    #[must_use]
    pub fn is_on_its_way(&self) -> bool {
        matches!(self.state(), OrderState::Placed | OrderState::PartReceived)
    }
}
