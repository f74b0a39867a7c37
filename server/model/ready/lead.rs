//! Lead times: what a supplier says, corrected by what its deliveries took.
//!
//! Serves due dates and the reorder list. Before any delivery the supplier's word is planned with;
//! from then on the days within which nine in ten are expected.

use std::sync::Arc;

use crate::Book;
use crate::maths::supply::lead::{LeadPolicy, lead_belief};
use crate::ready::local_day::LocalDays;
use crate::trade::order::Order;
use crate::trade::policy::{PolicyKey, permille};
use crate::trade::supplier::Supplier;
use fettlebook_quantity::exact_f64;

/// A supplier's lead time as it is planned with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlannedLead {
    /// Whole days to plan with.
    pub days: i64,
    /// Spread of the days, standard deviation; 0 before any delivery.
    pub sd_days: f64,
    /// Deliveries it rests on.
    pub delivery_count: i64,
}

/// The lead time to plan with.
pub fn planned_lead(book: &Book, supplier: &Supplier) -> PlannedLead {
    let came = |order: &&Arc<Order>| {
        order.supplier == supplier.id && order.placed_at.is_some() && order.delivered_at.is_some()
    };
    let delivered: Vec<_> = book.orders().filter(came).collect();
    let taken = days_taken(book, &delivered);
    let by_word = PlannedLead {
        days: supplier.lead_days,
        sd_days: 0.0,
        delivery_count: i64::try_from(taken.len()).unwrap_or(i64::MAX),
    };
    if taken.is_empty() {
        return by_word;
    }
    let policy = book.policy();
    let trust = LeadPolicy {
        prior_deliveries: exact_f64(policy.value(PolicyKey::LeadTrustDeliveries)),
        prior_sd_days: permille(policy, PolicyKey::LeadSdMilliDays),
    };
    let target = permille(policy, PolicyKey::LeadTargetPermille);
    let Ok(belief) = lead_belief(supplier.lead_days, &taken, trust) else {
        return by_word;
    };
    PlannedLead {
        days: belief.planning_days(target).unwrap_or(supplier.lead_days),
        sd_days: belief.sd_days,
        ..by_word
    }
}

/// Days from placing each order to its first delivery.
fn days_taken(book: &Book, orders: &[&Arc<Order>]) -> Vec<i64> {
    if orders.is_empty() {
        return Vec::new();
    }
    let local = LocalDays::of(book);
    let days = |order: &&Arc<Order>| {
        let placed = local.day(order.placed_at?);
        let came = local.day(order.delivered_at?);
        let days = placed.until(came).ok()?.get_days();
        Some(i64::from(days).max(0))
    };
    orders.iter().filter_map(days).collect()
}
