//! From cost to price: a markup on the cost, or a margin of the price.
//!
//! It serves the quote. The two differ, and neither may be taken for the other: a markup of 40 % on
//! 100 gives 140.00, a margin of 40 % gives 166.67.

use rust_decimal::Decimal;

use super::error::at_least_zero;
use super::{CostError, Fraction};

/// The largest markup: ten thousand per cent. More is a mistyped figure.
const MARKUP_MOST: Decimal = Decimal::ONE_HUNDRED;

const PRICE: CostError = CostError::TooLarge { what: "The price" };

/// How a price is made from a cost. Shares, not per cent: 0.35 is 35 %.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Pricing {
    /// A share of the cost, added to it.
    Markup(Decimal),
    /// A share of the price that is left when the cost is paid.
    Margin(Decimal),
}

impl Pricing {
    /// The price of a cost, rounded once, half away from zero, to so many decimals.
    ///
    /// Formula: cost × (1 + markup), or cost / (1 − margin).
    ///
    /// # Errors
    /// When the cost is below zero, the markup outside 0 to 100, the margin outside 0 to below 1, or the
    /// price needs more digits than can be held.
    pub(crate) fn price(self, cost: Decimal, places: u32) -> Result<Decimal, CostError> {
        at_least_zero(cost, "The cost")?;
        let price = match self {
            Self::Markup(markup) => with_markup(cost, checked_markup(markup)?),
            Self::Margin(margin) => with_margin(cost, checked_margin(margin)?),
        };
        price.and_then(|price| price.round(places)).ok_or(PRICE)
    }
}

fn with_markup(cost: Decimal, markup: Decimal) -> Option<Fraction> {
    let one = Fraction::of(Decimal::ONE)?;
    Fraction::of(cost)?.times(one.plus(Fraction::of(markup)?)?)
}

fn with_margin(cost: Decimal, margin: Decimal) -> Option<Fraction> {
    let one = Fraction::of(Decimal::ONE)?;
    Fraction::of(cost)?.per(one.minus(Fraction::of(margin)?)?)
}

fn checked_markup(found: Decimal) -> Result<Decimal, CostError> {
    if (Decimal::ZERO..=MARKUP_MOST).contains(&found) {
        Ok(found)
    } else {
        Err(CostError::OutOfRange {
            what: "The markup, a share of the cost,",
            found,
            least: Decimal::ZERO,
            most: MARKUP_MOST,
        })
    }
}

fn checked_margin(found: Decimal) -> Result<Decimal, CostError> {
    if (Decimal::ZERO..Decimal::ONE).contains(&found) {
        Ok(found)
    } else {
        Err(CostError::Margin { found })
    }
}

#[cfg(test)]
mod tests {
    use super::Pricing;
    use rust_decimal::Decimal;

    fn of(text: &str) -> Decimal {
        text.parse().unwrap()
    }

    /// Source: Wikipedia, *Gross margin*: 166.67.
    #[test]
    fn a_margin_is_no_markup() {
        let price = |pricing: Pricing| pricing.price(of("100"), 2).unwrap().to_string();
        assert_eq!(price(Pricing::Margin(of("0.40"))), "166.67");
        assert_eq!(price(Pricing::Markup(of("0.40"))), "140.00");
    }

    #[test]
    fn a_share_that_is_none_is_refused() {
        for pricing in [
            Pricing::Margin(of("1")),
            Pricing::Margin(of("40")),
            Pricing::Margin(of("-0.1")),
            Pricing::Markup(of("-0.1")),
            Pricing::Markup(of("101")),
        ] {
            assert!(pricing.price(of("100"), 2).is_err(), "{pricing:?}");
        }
        let refused = Pricing::Margin(of("40")).price(of("1"), 2).unwrap_err();
        assert_eq!(
            refused.to_string(),
            "The margin is 40. It is a share of the price from 0 to below 1; \
             a surcharge on the cost is a markup."
        );
        assert!(Pricing::Markup(of("1")).price(of("-1"), 2).is_err());
        assert!(Pricing::Markup(of("1")).price(Decimal::MAX, 2).is_err());
    }
}
