//! First expired, first out: which lots to take.
//!
//! It serves picks of liquids and sundries that expire. A lot past its date is never picked; the label
//! and the data sheet decide whether a lot in date may still be used.

use std::cmp::Reverse;

use jiff::ToSpan;
use jiff::civil::Date;

use super::SupplyError;
use super::error::count_within;
use super::order_date::DAYS_MOST;

/// A lot at hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lot<Id> {
    /// What it goes by.
    pub id: Id,
    /// Quantity left.
    pub quantity: i64,
    /// Last day on which it may be used; none where it does not expire.
    pub expires: Option<Date>,
    /// Day it came in.
    pub received: Date,
}

/// What to take, and what is lacking.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FefoPick<Id> {
    /// Lots and how much of each, in the order to take them.
    pub picks: Vec<(Id, i64)>,
    /// What the lots do not cover.
    pub short: i64,
}

/// Picks the need from the lots that still have `min_days_left` days on the day of use.
///
/// A lot is usable on its expiry day. The earliest expiry goes first, a lot without one last; then the
/// earliest receipt, then the id. Source: WHO good distribution practices, annex 5 (first expiry, first
/// out); the tie rules are ours.
///
/// # Errors
/// When a quantity, the need or the days left are below zero, or the day lies outside the calendar.
pub fn pick_first_expiring<Id: Copy + Ord>(
    lots: &[Lot<Id>],
    need: i64,
    use_date: Date,
    min_days_left: i64,
) -> Result<FefoPick<Id>, SupplyError> {
    let mut short = count_within(need, i64::MAX, "The need")?;
    let days_left = count_within(min_days_left, DAYS_MOST, "The days left")?;
    let least = use_date
        .checked_add(days_left.days())
        .map_err(|_| SupplyError::DateBeyond)?;
    for lot in lots {
        count_within(lot.quantity, i64::MAX, "The quantity of a lot")?;
    }
    let usable = |lot: &&Lot<Id>| lot.quantity > 0 && lot.expires.is_none_or(|day| day >= least);
    let mut usable: Vec<&Lot<Id>> = lots.iter().filter(usable).collect();
    usable.sort_by_key(|lot| {
        let never = Reverse(lot.expires.is_some());
        (never, lot.expires, lot.received, lot.id)
    });
    let mut picks = Vec::new();
    for lot in usable {
        let taken = lot.quantity.min(short);
        if taken == 0 {
            break;
        }
        short = short.saturating_sub(taken);
        picks.push((lot.id, taken));
    }
    Ok(FefoPick { picks, short })
}

#[cfg(test)]
mod tests {
    use jiff::civil::{Date, date};

    use super::{Lot, pick_first_expiring};

    fn lot(id: char, quantity: i64, expires: Option<Date>, day: i8) -> Lot<char> {
        Lot {
            id,
            quantity,
            expires,
            received: date(2026, 1, day),
        }
    }

    #[test]
    fn a_lot_is_usable_on_its_expiry_day_but_not_with_fewer_days_than_asked() {
        let day = date(2026, 4, 10);
        let lots = [lot('a', 5, Some(day), 1)];
        let on_the_day = pick_first_expiring(&lots, 3, day, 0).unwrap();
        assert_eq!((on_the_day.picks, on_the_day.short), (vec![('a', 3)], 0));
        let with_a_day_left = pick_first_expiring(&lots, 3, day, 1).unwrap();
        assert_eq!((with_a_day_left.picks, with_a_day_left.short), (vec![], 3));
        let the_day_after = pick_first_expiring(&lots, 3, day.tomorrow().unwrap(), 0).unwrap();
        assert_eq!(the_day_after.short, 3);
    }

    #[test]
    fn ties_go_to_the_earlier_receipt_then_to_the_id() {
        let day = Some(date(2026, 6, 30));
        let lots = [
            lot('d', 1, None, 1),
            lot('c', 1, day, 2),
            lot('b', 1, day, 2),
            lot('a', 1, day, 3),
            lot('e', 0, day, 1),
        ];
        let pick = pick_first_expiring(&lots, 9, date(2026, 4, 10), 0).unwrap();
        assert_eq!(pick.picks, [('b', 1), ('c', 1), ('a', 1), ('d', 1)]);
        assert_eq!(pick.short, 5);
    }

    #[test]
    fn quantities_below_zero_are_refused() {
        let day = date(2026, 4, 10);
        let refused = |quantity, need, left| {
            pick_first_expiring(&[lot('a', quantity, None, 1)], need, day, left).is_err()
        };
        assert!(refused(-1, 1, 0) && refused(1, -1, 0) && refused(1, 1, -1));
        assert!(refused(1, 1, i64::MAX));
        assert!(pick_first_expiring::<char>(&[], 1, Date::MAX, 1).is_err());
    }
}
