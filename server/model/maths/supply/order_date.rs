//! The last day on which an order still comes in time.
//!
//! It serves the reorder list, which says *buy by*. It counts days of the calendar; a supplier's own
//! days off are in its order days and its lead time.

use jiff::ToSpan;
use jiff::civil::{Date, Weekday};

use super::SupplyError;
use super::error::count_within;

/// The longest lead or handling time that is taken, ten years.
pub(crate) const DAYS_MOST: i64 = 3_650;

/// When a supplier takes orders, and how long one is on its way.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct OrderCalendar {
    /// Days from order to delivery; 0 over the counter.
    pub lead_days: i64,
    /// Days from delivery until it can be used.
    pub handling_days: i64,
    /// Days of the week on which orders are taken.
    pub order_days: Vec<Weekday>,
}

impl OrderCalendar {
    /// [`latest_order_date`] for this supplier.
    ///
    /// # Errors
    /// As there.
    pub(crate) fn latest_order_date(&self, need: Date) -> Result<Date, SupplyError> {
        latest_order_date(need, self.lead_days, self.handling_days, &self.order_days)
    }
}

/// The last order day on or before need − lead − handling.
///
/// It may lie in the past: then the order is overdue, which the caller says.
///
/// # Errors
/// When the lead or the handling time is below zero or beyond [`DAYS_MOST`], there is no order day, or
/// the date lies outside the calendar.
pub(crate) fn latest_order_date(
    need: Date,
    lead_days: i64,
    handling_days: i64,
    order_days: &[Weekday],
) -> Result<Date, SupplyError> {
    let lead = count_within(lead_days, DAYS_MOST, "The lead time in days")?;
    let handling = count_within(handling_days, DAYS_MOST, "The handling time in days")?;
    if order_days.is_empty() {
        return Err(SupplyError::NoOrderDay);
    }
    let beyond = |_| SupplyError::DateBeyond;
    let mut date = need
        .checked_sub(lead.saturating_add(handling).days())
        .map_err(beyond)?;
    while !order_days.contains(&date.weekday()) {
        date = date.yesterday().map_err(beyond)?;
    }
    Ok(date)
}

#[cfg(test)]
mod tests {
    use jiff::civil::{Date, Weekday, date};

    use super::latest_order_date;

    const WORKING: [Weekday; 5] = [
        Weekday::Monday,
        Weekday::Tuesday,
        Weekday::Wednesday,
        Weekday::Thursday,
        Weekday::Friday,
    ];

    /// Source: the calendar of May 2026: the 15th is a Friday.
    #[test]
    fn an_order_day_is_never_after_what_the_lead_leaves() {
        let need = date(2026, 5, 15);
        for (lead, handling, order_by) in [
            (0, 0, date(2026, 5, 15)),
            (3, 0, date(2026, 5, 12)),
            (3, 1, date(2026, 5, 11)),
            (3, 2, date(2026, 5, 8)),
            (3, 3, date(2026, 5, 8)),
            (3, 4, date(2026, 5, 8)),
            (3, 5, date(2026, 5, 7)),
        ] {
            let ours = latest_order_date(need, lead, handling, &WORKING);
            assert_eq!(ours, Ok(order_by), "{lead} + {handling}");
        }
        let sundays = latest_order_date(need, 0, 0, &[Weekday::Sunday]);
        assert_eq!(sundays, Ok(date(2026, 5, 10)));
    }

    #[test]
    fn times_and_days_that_are_none_are_refused() {
        let need = date(2026, 5, 15);
        assert!(latest_order_date(need, -1, 0, &WORKING).is_err());
        assert!(latest_order_date(need, 0, -1, &WORKING).is_err());
        assert!(latest_order_date(need, i64::MAX, 0, &WORKING).is_err());
        assert!(latest_order_date(Date::MIN, 1, 0, &WORKING).is_err());
        assert_eq!(
            latest_order_date(need, 1, 0, &[]).unwrap_err().to_string(),
            "The supplier takes orders on no day of the week. Say on which it does."
        );
    }
}
