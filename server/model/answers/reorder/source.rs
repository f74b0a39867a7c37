//! From whom: the supplier of each make that is wanted.
//!
//! Serves the reorder list. Among those that deliver in time the cheapest is taken, and when none
//! does the quickest; a make that nobody lists stays on the list without one.

use std::sync::Arc;

use jiff::ToSpan as _;
use jiff::civil::{Date, Weekday};
use rust_decimal::Decimal;

use super::fill::Want;
use crate::Book;
use crate::ground::ids::Id;
use crate::maths::supply::{OrderCalendar, Stock, net_by_date};
use crate::ready::lead::planned_lead;
use crate::trade::policy::PolicyKey;
use crate::trade::supplier::{Offer, Supplier};

/// Days ahead that are looked at for the first delivery.
const LATEST_LOOKED_AT: i64 = 400;
const EVERY_DAY: [Weekday; 7] = [
    Weekday::Monday,
    Weekday::Tuesday,
    Weekday::Wednesday,
    Weekday::Thursday,
    Weekday::Friday,
    Weekday::Saturday,
    Weekday::Sunday,
];

/// Where a wanted make comes from.
#[derive(Debug, Clone)]
pub(super) struct Source {
    /// Supplier.
    pub(super) supplier: Arc<Supplier>,
    /// What it asks.
    pub(super) offer: Offer,
    /// Packs that cover the need.
    pub(super) pack_count: i64,
    /// Last day to order.
    pub(super) order_by: Date,
    /// That day has passed.
    pub(super) is_late: bool,
}

impl Source {
    /// Pieces in the packs that cover the need.
    pub(super) fn piece_count(&self) -> i64 {
        self.pack_count.saturating_mul(self.offer.pack_count.max(1))
    }
}

/// The source of a want; only of one supplier where that is asked for.
pub(super) fn of(book: &Book, want: &Want, only: Option<&Supplier>, today: Date) -> Option<Source> {
    let offers = book
        .suppliers()
        .filter(|supplier| only.is_none_or(|only| only.id == supplier.id));
    let sources = offers.filter_map(|supplier| from(book, supplier, want, today));
    sources.min_by(|a, b| {
        let cheaper = || cost(a).cmp(&cost(b));
        let later = || b.order_by.cmp(&a.order_by);
        let order = if a.is_late && b.is_late {
            later().then_with(cheaper)
        } else {
            a.is_late.cmp(&b.is_late).then_with(cheaper)
        };
        order.then_with(|| a.supplier.id.cmp(&b.supplier.id))
    })
}

fn from(book: &Book, supplier: &Arc<Supplier>, want: &Want, today: Date) -> Option<Source> {
    let offer = supplier.offer(&want.make)?.clone();
    let pack = offer.pack_count.max(1);
    let nothing = Stock::default();
    let calendar = calendar(book, supplier);
    let orders = net_by_date(&want.needs, nothing, pack, &calendar).ok()?;
    let pieces = orders.iter().map(|order| order.quantity);
    let packs = pieces.fold(0, i64::saturating_add).checked_div(pack)?;
    let order_by = orders.first()?.order_by;
    Some(Source {
        supplier: Arc::clone(supplier),
        offer,
        pack_count: packs,
        order_by,
        is_late: order_by < today,
    })
}

/// The supplier that a make usually comes from: the cheapest by the piece.
pub(super) fn usual<'a>(book: &'a Book, make: &Id) -> Option<&'a Supplier> {
    let price = |supplier: &Supplier| {
        let offer = supplier.offer(make)?;
        let price = offer.price_at(1)?.amount;
        price.checked_div(offer.pack_count.max(1).into())
    };
    let offers = book
        .suppliers()
        .filter_map(|supplier| Some((price(supplier)?, supplier)));
    let cheapest = offers.min_by(|a, b| a.0.cmp(&b.0).then_with(|| a.1.id.cmp(&b.1.id)));
    cheapest.map(|(_, supplier)| supplier.as_ref())
}

/// Days to plan with until the usual supplier delivers.
pub(super) fn usual_lead_days(book: &Book, make: &Id) -> Option<i64> {
    usual(book, make).map(|supplier| planned_lead(book, supplier).days)
}

/// When a supplier takes orders and how long they take, as the book plans with it.
fn calendar(book: &Book, supplier: &Supplier) -> OrderCalendar {
    let mut order_days: Vec<Weekday> = supplier
        .order_days
        .iter()
        .map(|day| day.weekday())
        .collect();
    if order_days.is_empty() {
        order_days = EVERY_DAY.to_vec();
    }
    OrderCalendar {
        lead_days: planned_lead(book, supplier).days,
        handling_days: book.policy().value(PolicyKey::HandlingDays),
        order_days,
    }
}

/// The first day that something ordered today from a supplier can be used.
pub(super) fn first_day(book: &Book, supplier: &Supplier, today: Date) -> Date {
    let days = (0..=LATEST_LOOKED_AT).filter_map(|ahead| today.checked_add(ahead.days()).ok());
    let calendar = calendar(book, supplier);
    let orders_in_time = |day: &Date| calendar.latest_order_date(*day).is_ok_and(|by| by >= today);
    let mut in_time = days.filter(orders_in_time);
    in_time.next().unwrap_or(today)
}

fn cost(source: &Source) -> Option<Decimal> {
    let price = source.offer.price_at(source.pack_count)?;
    price.amount.checked_mul(source.pack_count.into())
}
