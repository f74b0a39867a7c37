//! Netting: what dated needs leave of the stock, and the last day to order what is lacking.
//!
//! The record of material requirements planning. Quantities are whole numbers of the line's unit, pieces
//! or microlitres. Nothing is ever ordered for a need that stock or a delivery covers, and what is
//! delivered on a day is there for the needs of that day.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::error::count_within;
use super::{OrderCalendar, SupplyError};
use crate::ground::exact::ceil_div;

/// The largest quantity in a cell; 10,000 of them still add up without running over.
const QUANTITY_MOST: i64 = 100_000_000_000_000;
/// The most days in a record: 27 years of them.
const DAYS_MOST: i64 = 10_000;

/// A quantity on a day: a need or a delivery due.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Dated {
    /// Day.
    pub date: Date,
    /// Quantity.
    pub quantity: i64,
}

/// What there is before the first day, and what must stay.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Stock<'a> {
    /// On hand before the first day.
    pub on_hand: i64,
    /// Deliveries already ordered.
    pub due: &'a [Dated],
    /// Stock to keep at the end of every day.
    pub safety: i64,
}

/// An order that a day asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct DatedOrder {
    /// The day it is for.
    pub need_on: Date,
    /// The last day to order it; it may have passed.
    pub order_by: Date,
    /// Quantity, in whole lots.
    pub quantity: i64,
}

/// The orders that keep the stock at its safety over the days that have a need or a delivery.
///
/// Formula, by day: lacking = safety − (stock with the orders before + delivered − needed), nothing if
/// below zero; the order covers it in lots and is placed on the last order day on or before its lead and
/// handling time. Source: *Orlicky's Material Requirements Planning*, figures 7-4 and 7-16.
///
/// # Errors
/// When a figure is below zero or beyond what can be meant, the lot is nothing, or as
/// [`latest_order_date`](super::latest_order_date).
pub(crate) fn net_by_date(
    needs: &[Dated],
    stock: Stock<'_>,
    lot: i64,
    calendar: &OrderCalendar,
) -> Result<Vec<DatedOrder>, SupplyError> {
    let mut days: BTreeMap<Date, (i64, i64)> = BTreeMap::new();
    for need in needs {
        let day = days.entry(need.date).or_default();
        day.0 = added(day.0, need.quantity, "A need")?;
    }
    for delivery in stock.due {
        let day = days.entry(delivery.date).or_default();
        day.1 = added(day.1, delivery.quantity, "A delivery")?;
    }
    let count = i64::try_from(days.len()).unwrap_or(i64::MAX);
    count_within(count, DAYS_MOST, "The number of days")?;
    count_within(stock.safety, QUANTITY_MOST, "The safety stock")?;
    if count_within(lot, QUANTITY_MOST, "The lot")? == 0 {
        return Err(SupplyError::NotPositive { what: "The lot" });
    }
    let mut there = count_within(stock.on_hand, QUANTITY_MOST, "The stock on hand")?;
    let mut orders = Vec::new();
    for (need_on, (needed, delivered)) in days {
        there = there.saturating_add(delivered).saturating_sub(needed);
        let lacking = stock.safety.saturating_sub(there).max(0);
        if lacking > 0 {
            let quantity = in_lots(lacking, lot);
            there = there.saturating_add(quantity);
            orders.push(DatedOrder {
                need_on,
                order_by: calendar.latest_order_date(need_on)?,
                quantity,
            });
        }
    }
    Ok(orders)
}

/// As few whole lots as cover it.
fn in_lots(lacking: i64, lot: i64) -> i64 {
    let lots = ceil_div(lacking.into(), lot.into());
    lots.saturating_mul(lot)
}

fn added(sum: i64, quantity: i64, what: &'static str) -> Result<i64, SupplyError> {
    let quantity = count_within(quantity, QUANTITY_MOST, what)?;
    count_within(sum.saturating_add(quantity), QUANTITY_MOST, what)
}

#[cfg(test)]
mod tests {
    use jiff::civil::{Weekday, date};

    use super::{Dated, DatedOrder, Stock, net_by_date};
    use crate::maths::supply::OrderCalendar;

    fn on(month: i8, day: i8, quantity: i64) -> Dated {
        Dated {
            date: date(2026, month, day),
            quantity,
        }
    }

    fn calendar(lead_days: i64) -> OrderCalendar {
        OrderCalendar {
            lead_days,
            handling_days: 1,
            order_days: vec![Weekday::Monday, Weekday::Thursday],
        }
    }

    /// Source: worked by hand; 11 May 2026 is a Monday. Six are there and one comes: five, two and three
    /// go, so three are lacking on the 20th, in lots of two four.
    #[test]
    fn a_shortage_says_by_when_to_order_how_many() {
        let needs = [on(5, 20, 3), on(5, 12, 4), on(5, 18, 2), on(5, 12, 1)];
        let stock = Stock {
            on_hand: 6,
            due: &[on(5, 18, 1)],
            safety: 0,
        };
        let told = |lot| net_by_date(&needs, stock, lot, &calendar(3)).unwrap();
        let order = DatedOrder {
            need_on: date(2026, 5, 20),
            order_by: date(2026, 5, 14),
            quantity: 3,
        };
        assert_eq!(told(1), [order]);
        let in_twos = DatedOrder {
            quantity: 4,
            ..order
        };
        assert_eq!(told(2), [in_twos]);
    }

    #[test]
    fn figures_that_make_no_sense_are_refused() {
        let none = Stock::default();
        let refused = |needs: &[Dated], stock, lot, lead| {
            let answer = net_by_date(needs, stock, lot, &calendar(lead));
            answer.map_err(|why| why.to_string()).unwrap_err()
        };
        let one = [on(5, 12, 1)];
        let each = 1;
        assert_eq!(
            refused(&one, none, each, -1),
            "The lead time in days must be a number that is not below zero. Give one."
        );
        assert_eq!(
            refused(&one, none, 0, 3),
            "The lot must be a number above zero. Give one."
        );
        for needs in [[on(5, 12, -1)], [on(5, 12, i64::MAX)]] {
            refused(&needs, none, each, 3);
        }
        refused(&one, none, -50, 3);
        let below = |on_hand, safety| Stock {
            on_hand,
            safety,
            ..none
        };
        refused(&one, below(-1, 0), each, 3);
        refused(&one, below(0, i64::MIN), each, 3);
        assert_eq!(net_by_date(&[], none, each, &calendar(3)), Ok(vec![]));
    }
}
