//! Parcels: packs that come on a day, of orders that are on their way or as a list would bring them.
//!
//! Serves the kit ahead. A pack of towels is one bundle, as a delivery has it; what should have come
//! already is never taken as there.

use jiff::ToSpan as _;
use jiff::civil::Date;

use crate::Book;
use crate::ground::ids::Id;
use crate::trade::make::Figures;
use crate::trade::order::Order;
use crate::trade::policy::PolicyKey;

/// Packs that will be in the kit on a day.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Parcel {
    /// Make.
    pub(crate) make: Id,
    /// Packs.
    pub(crate) pack_count: i64,
    /// Pieces in each; towels by the towel.
    pub(crate) pieces_per_pack: i64,
    /// The first day on which a job finds it.
    pub(crate) on: Date,
}

impl Parcel {
    /// So many pieces by themselves; towels in one bundle.
    pub(crate) fn of_pieces(book: &Book, make: &Id, count: i64, on: Date) -> Self {
        let is_towel = matches!(
            book.make(make).map(|make| &make.figures),
            Some(Figures::Towel(_))
        );
        let (pack_count, pieces_per_pack) = if is_towel { (1, count) } else { (count, 1) };
        Self {
            make: make.clone(),
            pack_count,
            pieces_per_pack,
            on,
        }
    }

    /// Pieces in all; towels by the towel.
    pub(crate) const fn piece_count(&self) -> i64 {
        self.pack_count.saturating_mul(self.pieces_per_pack)
    }
}

/// What is on its way. What should have come already comes today at the earliest.
pub(crate) fn on_their_way(book: &Book, today: Date) -> impl Iterator<Item = Parcel> {
    let handling = book.policy().value(PolicyKey::HandlingDays);
    let orders = book.orders().filter(|order| order.is_on_its_way());
    orders.flat_map(move |order| of_order(order, handling, today))
}

fn of_order(order: &Order, handling_days: i64, today: Date) -> impl Iterator<Item = Parcel> {
    let due = order.due_on.unwrap_or(Date::MAX).max(today);
    let on = due.checked_add(handling_days.days()).unwrap_or(Date::MAX);
    order
        .lines
        .iter()
        .filter(|line| line.open_pack_count() > 0)
        .map(move |line| Parcel {
            make: line.make.clone(),
            pack_count: line.open_pack_count(),
            pieces_per_pack: line.pieces_per_pack,
            on,
        })
}
