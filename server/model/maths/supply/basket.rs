//! The packs of one supplier's joined order that cost least.
//!
//! It serves the reorder list. What each line must have is always in the order; more is only added where
//! a price break, the minimum order or free delivery makes the whole cheaper. It is never a rule of
//! thumb: the choice is exact over the counts searched, and says which those were.

mod amounts;
mod counts;
mod search;

use rust_decimal::Decimal;

use super::SupplyError;
use crate::ground::money::{Money, PriceBreak};
use amounts::Amounts;
use counts::Counts;
use search::{Found, Goal, Way, cheapest, one_line_raised};

/// The most lines of an order; a price list holds no more that a shop would join.
pub(crate) const LINES_MOST: usize = 200;
/// The most packs of a line.
pub(crate) const PACKS_MOST: i64 = 1_000_000;
/// The most counts searched for a line; beyond it the search is over fewer counts.
const COUNTS_MOST: usize = 2_000;

/// One line of the order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct BasketLine {
    /// Packs it must have; 0 where it is only topped up.
    pub required: i64,
    /// Most packs worth having, by level and expiry.
    pub most: i64,
    /// Price of a pack by packs ordered, the first from 1; a break holds for every pack of the line.
    pub breaks: Vec<PriceBreak>,
    /// Cost of having one pack more than required until it is used: price × rate × time. Decimals
    /// beyond twelve are rounded.
    pub holding_per_pack: Money,
}

/// What a supplier asks of an order, by the value of its goods.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct BasketTerms {
    /// Least value of an order.
    pub minimum: Option<Money>,
    /// Freight.
    pub freight: Option<Money>,
    /// Value from which there is no freight.
    pub free_from: Option<Money>,
}

/// Which counts were searched.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Search {
    /// Every count from required to most of every line, in every combination.
    Full,
    /// Of each line the required count, those around a price break, those that reach the minimum order or
    /// free delivery with the other lines as required, and the most; in every combination.
    Breaks,
    /// Every line at its cheapest, and one of them raised to any of those.
    OneLine,
}

/// An order that was chosen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Basket {
    /// Packs by line.
    pub packs: Vec<i64>,
    /// Value of the goods.
    pub goods: Money,
    /// Freight.
    pub freight: Money,
    /// Holding cost of what is more than required.
    pub holding: Money,
    /// Goods, freight and holding: what is least.
    pub total: Money,
    /// Which counts were searched.
    pub search: Search,
}

/// What came of the choice.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Choice {
    /// An order the supplier takes; without packs where nothing is required.
    Order(Basket),
    /// Within the most of each line the minimum order is not reached.
    BelowMinimum {
        /// What costs least if the supplier takes it after all.
        as_it_is: Basket,
        /// How far its goods are below the minimum.
        short_by: Money,
        /// What costs least over the most of the lines; `None` where that would take more than
        /// [`PACKS_MOST`] packs of every line. What expires before it is used is not in its cost.
        over_most: Option<Basket>,
    },
}

/// Chooses the packs of each line so that goods + freight + holding cost least and the order reaches the
/// minimum.
///
/// Search: dynamic programming over the lines, keeping of all ways so far only those that no other beats
/// in both value and cost; values beyond minimum and free delivery count alike. Exact over the counts
/// searched: a way that is beaten stays beaten whatever the other lines take, since freight never rises
/// with the value. Where it would take more than two million steps it starts again over fewer counts,
/// as [`Basket::search`] then says.
///
/// # Errors
/// When there are no lines or too many, a count is below zero or too large, more is required than is
/// worth having, price breaks do not start at 1 and rise, a price is not above zero, currencies differ,
/// amounts need more digits than can be held, or even one line raised does not settle the order.
pub(crate) fn choose_packs(
    lines: &[BasketLine],
    terms: &BasketTerms,
) -> Result<Choice, SupplyError> {
    let amounts = Amounts::new(lines, terms)?;
    let goal = amounts.goal();
    let counts = Counts::new(&amounts, &goal);
    if lines.iter().all(|line| line.required == 0) {
        let nothing = Found {
            packs: vec![0; lines.len()],
            goods: 0,
            cost: 0,
        };
        return Ok(Choice::Order(amounts.basket(&nothing, 0, Search::Full)?));
    }
    if let Some((found, search)) = tiers(&counts, &goal)? {
        let freight = goal.freight_of(found.goods);
        return Ok(Choice::Order(amounts.basket(&found, freight, search)?));
    }
    below_minimum(&amounts, &counts, &goal)
}

fn below_minimum(
    amounts: &Amounts<'_>,
    counts: &Counts<'_>,
    goal: &Goal,
) -> Result<Choice, SupplyError> {
    let without = goal.without_minimum();
    let (found, search) = tiers(counts, &without)?.ok_or(SupplyError::TooManyWays)?;
    let short = goal.minimum.saturating_sub(found.goods);
    let over_most = match counts.over_most() {
        None => None,
        Some(wider) => match tiers(&wider, goal)? {
            None => None,
            Some((found, search)) => {
                let freight = goal.freight_of(found.goods);
                Some(amounts.basket(&found, freight, search)?)
            }
        },
    };
    Ok(Choice::BelowMinimum {
        as_it_is: amounts.basket(&found, goal.freight_of(found.goods), search)?,
        short_by: amounts.money(short)?,
        over_most,
    })
}

/// The search over as many counts as its bounds allow; `None` where no way reaches the minimum.
fn tiers(counts: &Counts<'_>, goal: &Goal) -> Result<Option<(Found, Search)>, SupplyError> {
    if !counts.reaches(goal.minimum) {
        return Ok(None);
    }
    if let Some(all) = counts.all(COUNTS_MOST)
        && let Ok(found) = cheapest(&all, goal)
    {
        return Ok(found.map(|found| (found, Search::Full)));
    }
    let few: Vec<Vec<Way>> = counts.few();
    if let Ok(found) = cheapest(&few, goal) {
        return Ok(found.map(|found| (found, Search::Breaks)));
    }
    let found = one_line_raised(&few, goal).ok_or(SupplyError::TooManyWays)?;
    Ok(Some((found, Search::OneLine)))
}

/// Twelve decimals: a hundred millionth of a cent, finer than any holding rate is known.
const HOLDING_PLACES: u32 = 12;

/// The holding cost to twelve decimals at most.
fn holding_to_places(holding: Decimal) -> Decimal {
    if holding.scale() > HOLDING_PLACES {
        let rule = rust_decimal::RoundingStrategy::MidpointAwayFromZero;
        holding.round_dp_with_strategy(HOLDING_PLACES, rule)
    } else {
        holding
    }
}

#[cfg(test)]
mod tests;
