//! The record by period.
//!
//! It serves the plan by date, which is the same record over its days. Periods are numbered from 1.

use crate::supply::SupplyError;
use crate::supply::error::count_within;

/// The largest quantity in a cell; 10,000 of them still add up without running over.
pub const QUANTITY_MOST: i64 = 100_000_000_000_000;
/// The most periods in a record: 27 years of days.
pub const PERIODS_MOST: i64 = 10_000;

/// How much is ordered to cover a net requirement.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LotRule {
    /// Just what is required.
    LotForLot,
    /// Whole lots of so many, as few as cover it.
    Lots(i64),
}

impl LotRule {
    fn checked(self) -> Result<Self, SupplyError> {
        match self {
            Self::LotForLot => Ok(self),
            Self::Lots(0) => Err(SupplyError::NotPositive { what: "The lot" }),
            Self::Lots(lot) => count_within(lot, QUANTITY_MOST, "The lot").map(|_| self),
        }
    }

    fn cover(self, required: i64) -> i64 {
        match self {
            Self::LotForLot => required,
            Self::Lots(lot) => {
                let short = required.checked_rem(lot).unwrap_or(0);
                let more = if short == 0 {
                    0
                } else {
                    lot.saturating_sub(short)
                };
                required.saturating_add(more)
            }
        }
    }
}

/// What goes into a record.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NettingInput<'a> {
    /// On hand before period 1.
    pub on_hand: i64,
    /// Gross requirements by period.
    pub gross: &'a [i64],
    /// Scheduled receipts by period: deliveries already ordered.
    pub scheduled: &'a [i64],
    /// Stock to keep at the end of every period.
    pub safety: i64,
    /// Periods from order to receipt.
    pub lead_periods: i64,
    /// Lots.
    pub lot: LotRule,
}

/// An order to be released.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Release {
    /// Period; 0 or below is past due.
    pub period: i64,
    /// Quantity.
    pub quantity: i64,
}

/// The record, one cell for each period.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct NettingRecord {
    /// Stock at the end if nothing more is ordered; below zero what is lacking.
    pub projected_without_orders: Vec<i64>,
    /// What is lacking to the safety stock, after earlier planned receipts.
    pub net_requirements: Vec<i64>,
    /// Receipts of the planned orders.
    pub planned_receipts: Vec<i64>,
    /// Planned orders, in the period they must be released.
    pub planned_releases: Vec<i64>,
    /// Planned orders that should have been released before period 1, earliest first.
    pub past_due_releases: Vec<Release>,
    /// Stock at the end with the planned orders.
    pub projected_with_orders: Vec<i64>,
}

impl NettingRecord {
    /// The latest period in which the first planned order must be released; 0 or below is past due.
    #[must_use]
    pub fn latest_first_order(&self) -> Option<i64> {
        let past_due = self.past_due_releases.iter().map(|release| release.period);
        let ahead = (1..).zip(&self.planned_releases);
        let ahead = ahead.filter(|(_, quantity)| **quantity > 0);
        past_due.chain(ahead.map(|(period, _)| period)).next()
    }
}

/// Works out the record.
///
/// Formula, by period: lacking = safety − (projected with orders before + scheduled − gross), nothing if
/// below zero; the planned receipt covers it in lots and is released `lead_periods` earlier. Source:
/// *Orlicky's Material Requirements Planning*, figures 7-4 and 7-16.
///
/// # Errors
/// When a figure is below zero or beyond [`QUANTITY_MOST`], the lot is nothing, the rows differ in
/// length or are longer than [`PERIODS_MOST`].
pub fn net(input: &NettingInput<'_>) -> Result<NettingRecord, SupplyError> {
    check(input)?;
    let mut record = NettingRecord::default();
    let (mut without, mut with) = (input.on_hand, input.on_hand);
    for (gross, scheduled) in input.gross.iter().zip(input.scheduled) {
        let change = scheduled.saturating_sub(*gross);
        without = without.saturating_add(change);
        with = with.saturating_add(change);
        let lacking = input.safety.saturating_sub(with).max(0);
        let receipt = input.lot.cover(lacking);
        with = with.saturating_add(receipt);
        record.projected_without_orders.push(without);
        record.net_requirements.push(lacking);
        record.planned_receipts.push(receipt);
        record.projected_with_orders.push(with);
    }
    release(&mut record, input.lead_periods);
    Ok(record)
}

fn check(input: &NettingInput<'_>) -> Result<(), SupplyError> {
    let (gross, scheduled) = (input.gross.len(), input.scheduled.len());
    if gross != scheduled {
        return Err(SupplyError::RowsDiffer { gross, scheduled });
    }
    let periods = i64::try_from(gross).unwrap_or(i64::MAX);
    count_within(periods, PERIODS_MOST, "The number of periods")?;
    count_within(input.lead_periods, PERIODS_MOST, "The lead time")?;
    count_within(input.on_hand, QUANTITY_MOST, "The stock on hand")?;
    count_within(input.safety, QUANTITY_MOST, "The safety stock")?;
    for need in input.gross {
        count_within(*need, QUANTITY_MOST, "A need")?;
    }
    for delivery in input.scheduled {
        count_within(*delivery, QUANTITY_MOST, "A delivery")?;
    }
    input.lot.checked().map(|_| ())
}

fn release(record: &mut NettingRecord, lead: i64) {
    record.planned_releases = vec![0; record.planned_receipts.len()];
    for (receipt, quantity) in (1_i64..).zip(&record.planned_receipts) {
        if *quantity == 0 {
            continue;
        }
        let period = receipt.saturating_sub(lead);
        let cell = usize::try_from(period.saturating_sub(1))
            .ok()
            .and_then(|index| record.planned_releases.get_mut(index));
        match cell {
            Some(cell) => *cell = *quantity,
            None => record.past_due_releases.push(Release {
                period,
                quantity: *quantity,
            }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{LotRule, NettingInput, Release, net};

    const INPUT: NettingInput<'_> = NettingInput {
        on_hand: 10,
        gross: &[8, 4, 0, 130],
        scheduled: &[0, 0, 0, 5],
        safety: 0,
        lead_periods: 2,
        lot: LotRule::Lots(50),
    };

    /// Source: worked by hand.
    #[test]
    fn what_is_needed_before_it_can_come_is_past_due() {
        let record = net(&INPUT).unwrap();
        assert_eq!(record.projected_without_orders, [2, -2, -2, -127]);
        assert_eq!(record.net_requirements, [0, 2, 0, 77]);
        assert_eq!(record.planned_receipts, [0, 50, 0, 100]);
        assert_eq!(record.planned_releases, [0, 100, 0, 0]);
        let late = Release {
            period: 0,
            quantity: 50,
        };
        assert_eq!(record.past_due_releases, [late]);
        assert_eq!(record.projected_with_orders, [2, 48, 48, 23]);
        assert_eq!(record.latest_first_order(), Some(0));
    }

    #[test]
    fn a_stock_that_covers_all_orders_nothing() {
        let record = net(&NettingInput {
            on_hand: 500,
            ..INPUT
        })
        .unwrap();
        assert_eq!(record.latest_first_order(), None);
        assert_eq!(
            record.projected_with_orders,
            record.projected_without_orders
        );
    }

    #[test]
    fn records_that_make_no_sense_are_refused() {
        let refused = |input: NettingInput<'_>| net(&input).unwrap_err().to_string();
        assert_eq!(
            refused(NettingInput {
                lead_periods: -1,
                ..INPUT
            }),
            "The lead time must be a number that is not below zero. Give one."
        );
        assert_eq!(
            refused(NettingInput {
                lot: LotRule::Lots(0),
                ..INPUT
            }),
            "The lot must be a number above zero. Give one."
        );
        assert_eq!(
            refused(NettingInput {
                gross: &[1],
                ..INPUT
            }),
            "The needs cover 1 periods and the deliveries 4. Give both the same."
        );
        for input in [
            NettingInput {
                on_hand: -1,
                ..INPUT
            },
            NettingInput {
                safety: i64::MIN,
                ..INPUT
            },
            NettingInput {
                gross: &[i64::MAX, 0, 0, 0],
                ..INPUT
            },
            NettingInput {
                scheduled: &[0, 0, 0, -5],
                ..INPUT
            },
            NettingInput {
                lot: LotRule::Lots(-50),
                ..INPUT
            },
            NettingInput {
                lot: LotRule::Lots(i64::MAX),
                ..INPUT
            },
        ] {
            assert!(net(&input).is_err(), "{input:?}");
        }
    }
}
