//! Why a cost is not reckoned, in words for the person who gave the figures.
//!
//! It serves every function of the cost module. Each sentence says what was wrong and what to do next.

use rust_decimal::Decimal;

/// Why a cost is not reckoned.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub(crate) enum CostError {
    /// A figure must be above zero.
    #[error("{what} is {found}. It must be above zero.")]
    NotPositive {
        /// Which figure.
        what: &'static str,
        /// What was given.
        found: Decimal,
    },
    /// A figure is below zero.
    #[error("{what} is {found}. It cannot be below zero.")]
    Negative {
        /// Which figure.
        what: &'static str,
        /// What was given.
        found: Decimal,
    },
    /// A figure lies outside its range.
    #[error("{what} is {found}. It lies between {least} and {most}.")]
    OutOfRange {
        /// Which figure.
        what: &'static str,
        /// What was given.
        found: Decimal,
        /// The least it may be.
        least: Decimal,
        /// The most it may be.
        most: Decimal,
    },
    /// A share of the price leaves nothing for the cost.
    #[error(
        "The margin is {found}. It is a share of the price from 0 to below 1; \
         a surcharge on the cost is a markup."
    )]
    Margin {
        /// What was given.
        found: Decimal,
    },
    /// More is issued or kept than there is.
    #[error(
        "{asked} is more than the {there} there is. Count the stock, or take in what is missing."
    )]
    MoreThanThere {
        /// What was asked for.
        asked: Decimal,
        /// What there is.
        there: Decimal,
    },
    /// Scrap is worth more than the piece was.
    #[error("The scrap value {scrap} is above the price {price}. Give at most the price.")]
    ScrapAbovePrice {
        /// The scrap value.
        scrap: Decimal,
        /// The price.
        price: Decimal,
    },
    /// An amount to share out has parts below the smallest coin.
    #[error("{total} has more than {places} decimals and cannot be shared out. Round it first.")]
    NotWholeCoins {
        /// The amount.
        total: Decimal,
        /// Decimals of the currency.
        places: u32,
    },
    /// A line net has parts below the smallest coin.
    #[error("The net {net} has more than {places} decimals. Round each line before adding up.")]
    NotRounded {
        /// The net.
        net: Decimal,
        /// Decimals of the currency.
        places: u32,
    },
    /// Nothing to share an amount by.
    #[error("Nothing has a value to share {total} by. Give at least one line a value.")]
    NothingToShareBy {
        /// The amount.
        total: Decimal,
    },
    /// A result needs more digits than can be held.
    #[error("{what} needs more digits than can be held exactly. Look for a mistyped figure.")]
    TooLarge {
        /// Which figure.
        what: &'static str,
    },
}

/// The figure itself where it is above zero.
pub(super) fn above_zero(found: Decimal, what: &'static str) -> Result<Decimal, CostError> {
    if found > Decimal::ZERO {
        Ok(found)
    } else {
        Err(CostError::NotPositive { what, found })
    }
}

/// The figure itself where it is not below zero.
pub(super) fn at_least_zero(found: Decimal, what: &'static str) -> Result<Decimal, CostError> {
    if found >= Decimal::ZERO {
        Ok(found)
    } else {
        Err(CostError::Negative { what, found })
    }
}
