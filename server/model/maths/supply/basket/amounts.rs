//! The figures of an order as whole numbers of one small unit, checked.
//!
//! It serves the search, which must add and compare exactly and fast.

use rust_decimal::Decimal;

use super::search::{Found, Goal, Way};
use super::{Basket, BasketLine, BasketTerms, LINES_MOST, PACKS_MOST, Search, holding_to_places};
use crate::ground::money::{Currency, Money};
use crate::maths::supply::SupplyError;
use crate::maths::supply::error::count_within;

const BEYOND: SupplyError = SupplyError::BeyondNumbers {
    what: "The cost of the order",
};
/// The largest cost of a line in the small unit: sums of all lines still fit.
const AMOUNT_MOST: i128 = 1 << 118;

/// A line in whole numbers of the small unit.
pub(super) struct ScaledLine<'a> {
    pub(super) line: &'a BasketLine,
    /// Packs from which a price holds, and the price.
    prices: Vec<(i64, i128)>,
    holding: i128,
}

impl ScaledLine<'_> {
    /// What so many packs come to; `None` beyond what can be added up.
    pub(super) fn way(&self, packs: i64) -> Option<Way> {
        let price = self.prices.iter().rev().find(|(from, _)| *from <= packs);
        let price = if packs == 0 { 0 } else { price?.1 };
        let goods = price.checked_mul(i128::from(packs))?;
        let more = packs.saturating_sub(self.line.required);
        let cost = goods.checked_add(self.holding.checked_mul(i128::from(more))?)?;
        (cost <= AMOUNT_MOST).then_some(Way { packs, goods, cost })
    }

    /// Packs from which each price holds.
    pub(super) fn breaks(&self) -> impl Iterator<Item = i64> + '_ {
        self.prices.iter().map(|(from, _)| *from)
    }

    /// Fewest packs that would reach a value at each of the prices, whether or not it holds there.
    pub(super) fn packs_reaching(&self, value: i128) -> Vec<i64> {
        let reaching = |(_, price): &(i64, i128)| {
            let packs = value
                .checked_add(price.checked_sub(1)?)?
                .checked_div(*price)?;
            i64::try_from(packs).ok()
        };
        self.prices.iter().filter_map(reaching).collect()
    }
}

/// The order in whole numbers of the small unit.
pub(super) struct Amounts<'a> {
    pub(super) lines: Vec<ScaledLine<'a>>,
    goal: Goal,
    currency: Currency,
    places: u32,
}

impl<'a> Amounts<'a> {
    pub(super) fn new(lines: &'a [BasketLine], terms: &BasketTerms) -> Result<Self, SupplyError> {
        let first = lines.first().ok_or(SupplyError::NotPositive {
            what: "The number of lines",
        })?;
        let count = i64::try_from(lines.len()).unwrap_or(i64::MAX);
        let most = i64::try_from(LINES_MOST).unwrap_or(i64::MAX);
        count_within(count, most, "The number of lines")?;
        let currency = first.holding_per_pack.currency;
        for (index, line) in lines.iter().enumerate() {
            check_line(index, line, currency)?;
        }
        let places = places_of(lines, terms);
        let scaled = |amount: Decimal| scaled(amount, places);
        let term = |money: Option<Money>, what| -> Result<Option<i128>, SupplyError> {
            let Some(money) = money else { return Ok(None) };
            not_below_zero(money, currency, what)?;
            scaled(money.amount).map(Some)
        };
        let goal = Goal {
            minimum: term(terms.minimum, "The minimum order")?.unwrap_or(0),
            freight: term(terms.freight, "The freight")?.unwrap_or(0),
            free_from: term(terms.free_from, "The value for free delivery")?,
        };
        let lines = lines.iter().map(|line| {
            let prices = line.breaks.iter().map(|price| {
                let amount = scaled(price.price.amount)?;
                Ok((price.from_pack_count, amount))
            });
            Ok(ScaledLine {
                line,
                prices: prices.collect::<Result<_, SupplyError>>()?,
                holding: scaled(holding_to_places(line.holding_per_pack.amount))?,
            })
        });
        let amounts = Self {
            lines: lines.collect::<Result<_, SupplyError>>()?,
            goal,
            currency,
            places,
        };
        amounts.check_ways()?;
        Ok(amounts)
    }

    /// Every count that a search may look at must have a cost that can be added up.
    fn check_ways(&self) -> Result<(), SupplyError> {
        for line in &self.lines {
            line.way(line.line.most.max(1)).ok_or(BEYOND)?;
            line.way(line.line.required).ok_or(BEYOND)?;
        }
        Ok(())
    }

    pub(super) fn goal(&self) -> Goal {
        self.goal
    }

    pub(super) fn money(&self, units: i128) -> Result<Money, SupplyError> {
        let mut amount = Decimal::try_from_i128_with_scale(units, self.places)
            .map_err(|_| BEYOND)?
            .normalize();
        let coins = self.currency.places();
        if amount.scale() < coins {
            amount.rescale(coins);
        }
        Ok(Money {
            amount,
            currency: self.currency,
        })
    }

    pub(super) fn basket(
        &self,
        found: &Found,
        freight: i128,
        search: Search,
    ) -> Result<Basket, SupplyError> {
        Ok(Basket {
            packs: found.packs.clone(),
            goods: self.money(found.goods)?,
            freight: self.money(freight)?,
            holding: self.money(found.cost.saturating_sub(found.goods))?,
            total: self.money(found.cost.saturating_add(freight))?,
            search,
        })
    }
}

fn check_line(index: usize, line: &BasketLine, currency: Currency) -> Result<(), SupplyError> {
    let required = count_within(line.required, PACKS_MOST, "The packs required")?;
    let most = count_within(line.most, PACKS_MOST, "The most packs")?;
    if most < required {
        return Err(SupplyError::MostBelowRequired {
            line: index,
            required,
            most,
        });
    }
    not_below_zero(line.holding_per_pack, currency, "A holding cost")?;
    if line
        .breaks
        .first()
        .is_none_or(|price| price.from_pack_count != 1)
    {
        return Err(SupplyError::NoFirstPrice { line: index });
    }
    for price in &line.breaks {
        not_below_zero(price.price, currency, "A price")?;
        if price.price.amount.is_zero() {
            return Err(SupplyError::NoPrice { line: index });
        }
    }
    let pairs = line.breaks.iter().zip(line.breaks.iter().skip(1));
    for (place, (price, next)) in pairs.enumerate() {
        if next.from_pack_count <= price.from_pack_count {
            return Err(SupplyError::BreaksOutOfOrder {
                line: index,
                index: place.saturating_add(1),
            });
        }
    }
    Ok(())
}

fn not_below_zero(money: Money, currency: Currency, what: &'static str) -> Result<(), SupplyError> {
    if money.currency != currency {
        return Err(SupplyError::Currency {
            what,
            found: money.currency,
            wanted: currency,
        });
    }
    if money.amount < Decimal::ZERO {
        return Err(SupplyError::Negative { what });
    }
    Ok(())
}

/// Decimals of the finest amount.
fn places_of(lines: &[BasketLine], terms: &BasketTerms) -> u32 {
    let prices = lines.iter().flat_map(|line| &line.breaks);
    let holding = lines
        .iter()
        .map(|line| holding_to_places(line.holding_per_pack.amount));
    [terms.minimum, terms.freight, terms.free_from]
        .into_iter()
        .flatten()
        .chain(prices.map(|price| price.price))
        .map(|money| money.amount)
        .chain(holding)
        .map(|amount| amount.normalize().scale())
        .max()
        .unwrap_or(0)
}

fn scaled(amount: Decimal, places: u32) -> Result<i128, SupplyError> {
    let amount = amount.normalize();
    let finer = places.checked_sub(amount.scale());
    finer
        .and_then(|finer| 10_i128.checked_pow(finer))
        .and_then(|power| amount.mantissa().checked_mul(power))
        .filter(|units| *units <= AMOUNT_MOST)
        .ok_or(BEYOND)
}
