//! The record by calendar date: the days on which something is needed or delivered, and the last day to
//! order.
//!
//! It serves the reorder list. What is delivered on a day is there for the needs of that day.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::record::{LotRule, NettingInput, QUANTITY_MOST, net};
use crate::supply::error::count_within;
use crate::supply::{OrderCalendar, SupplyError};

/// A quantity on a day: a need or a delivery due.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Dated {
    /// Day.
    pub date: Date,
    /// Quantity.
    pub quantity: i64,
}

/// One day of the record.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DatedNet {
    /// Day.
    pub date: Date,
    /// Needed on it.
    pub gross: i64,
    /// Due on it.
    pub scheduled: i64,
    /// Stock at its end if nothing more is ordered.
    pub projected_without_orders: i64,
    /// What is lacking to the safety stock, after earlier planned orders.
    pub net_requirement: i64,
    /// What the order for this day brings.
    pub planned_receipt: i64,
    /// Stock at its end with the planned orders.
    pub projected_with_orders: i64,
    /// The last day to order the planned receipt; none where nothing is ordered.
    pub order_by: Option<Date>,
}

/// Works out the record over the days that have a need or a delivery, in their order.
///
/// # Errors
/// As [`net()`] and [`latest_order_date`](crate::supply::latest_order_date).
pub fn net_by_date(
    on_hand: i64,
    needs: &[Dated],
    due: &[Dated],
    safety: i64,
    lot: LotRule,
    calendar: &OrderCalendar,
) -> Result<Vec<DatedNet>, SupplyError> {
    let mut days: BTreeMap<Date, (i64, i64)> = BTreeMap::new();
    for need in needs {
        let day = days.entry(need.date).or_default();
        day.0 = added(day.0, need.quantity, "A need")?;
    }
    for delivery in due {
        let day = days.entry(delivery.date).or_default();
        day.1 = added(day.1, delivery.quantity, "A delivery")?;
    }
    let gross: Vec<i64> = days.values().map(|day| day.0).collect();
    let scheduled: Vec<i64> = days.values().map(|day| day.1).collect();
    let record = net(&NettingInput {
        on_hand,
        gross: &gross,
        scheduled: &scheduled,
        safety,
        lead_periods: 0,
        lot,
    })?;
    let cells = record
        .projected_without_orders
        .iter()
        .zip(&record.net_requirements)
        .zip(
            record
                .planned_receipts
                .iter()
                .zip(&record.projected_with_orders),
        );
    days.into_iter()
        .zip(cells)
        .map(
            |((date, (gross, scheduled)), ((without, lacking), (receipt, with)))| {
                let ordered = (*receipt > 0).then(|| calendar.latest_order_date(date));
                Ok(DatedNet {
                    date,
                    gross,
                    scheduled,
                    projected_without_orders: *without,
                    net_requirement: *lacking,
                    planned_receipt: *receipt,
                    projected_with_orders: *with,
                    order_by: ordered.transpose()?,
                })
            },
        )
        .collect()
}

fn added(sum: i64, quantity: i64, what: &'static str) -> Result<i64, SupplyError> {
    let quantity = count_within(quantity, QUANTITY_MOST, what)?;
    count_within(sum.saturating_add(quantity), QUANTITY_MOST, what)
}

#[cfg(test)]
mod tests {
    use jiff::civil::{Weekday, date};

    use super::{Dated, LotRule, net_by_date};
    use crate::supply::OrderCalendar;

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

    /// Source: worked by hand; 11 May 2026 is a Monday.
    #[test]
    fn each_shortage_says_by_when_to_order() {
        let needs = [on(5, 20, 3), on(5, 12, 4), on(5, 18, 2), on(5, 12, 1)];
        let due = [on(5, 18, 1)];
        let days = net_by_date(6, &needs, &due, 0, LotRule::LotForLot, &calendar(3)).unwrap();
        let told: Vec<_> = days
            .iter()
            .map(|day| {
                (
                    day.date,
                    day.projected_without_orders,
                    day.planned_receipt,
                    day.order_by,
                )
            })
            .collect();
        assert_eq!(
            told,
            [
                (date(2026, 5, 12), 1, 0, None),
                (date(2026, 5, 18), 0, 0, None),
                (date(2026, 5, 20), -3, 3, Some(date(2026, 5, 14))),
            ]
        );
        assert!(days.iter().all(|day| day.projected_with_orders >= 0));
        assert_eq!(
            (days[0].gross, days[1].scheduled, days[2].net_requirement),
            (5, 1, 3)
        );
    }

    #[test]
    fn a_negative_need_or_lead_is_refused() {
        let refused = |needs: &[Dated], lead| {
            net_by_date(0, needs, &[], 0, LotRule::LotForLot, &calendar(lead)).is_err()
        };
        assert!(refused(&[on(5, 12, -1)], 3));
        assert!(refused(&[on(5, 12, 1)], -3));
        assert!(refused(&[on(5, 12, i64::MAX)], 3));
        assert!(!refused(&[], 3));
    }
}
