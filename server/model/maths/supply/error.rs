//! Why a level, a date or a basket is not reckoned, in words for the person who gave the figures.
//!
//! It serves every function of the supply module. Lines, rows and periods are numbered from 1 in the
//! words.

use crate::ground::money::Currency;

/// Why a level, a date or a basket is not reckoned.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub(crate) enum SupplyError {
    /// A figure must be above zero and finite.
    #[error("{what} must be a number above zero. Give one.")]
    NotPositive {
        /// Which figure.
        what: &'static str,
    },
    /// A figure is below zero or no number.
    #[error("{what} must be a number that is not below zero. Give one.")]
    Negative {
        /// Which figure.
        what: &'static str,
    },
    /// A probability must lie between zero and one.
    #[error("{what} must lie between 0 and 1, ends left out. Give such a share.")]
    NotAShare {
        /// Which figure.
        what: &'static str,
    },
    /// A figure is beyond what can be meant.
    #[error("{what} is beyond {most}. Look for a mistyped figure.")]
    TooLarge {
        /// Which figure.
        what: &'static str,
        /// The most that is taken.
        most: i64,
    },
    /// A result lies beyond the numbers a computer holds.
    #[error("{what} lies beyond the numbers that can be held. Look for a mistyped figure.")]
    BeyondNumbers {
        /// Which figure.
        what: &'static str,
    },
    /// Chances that should add up to one do not.
    #[error("The chances of {what} do not add up to 1. Give one for each count, from none on.")]
    ChancesDoNotAddUp {
        /// Of what.
        what: &'static str,
    },
    /// The first price is not from the first pack.
    #[error("Line {}: the first price must hold from the first pack on. Give it.", .line.saturating_add(1))]
    NoFirstPrice {
        /// Line, from zero.
        line: usize,
    },
    /// Price breaks are not in order.
    #[error(
        "Line {}: price {} must be for more than the price before it. \
         Put the price breaks in order.",
        .line.saturating_add(1), .index.saturating_add(1)
    )]
    BreaksOutOfOrder {
        /// Line, from zero.
        line: usize,
        /// Place of the break, from zero.
        index: usize,
    },
    /// A price must be above zero.
    #[error("Line {}: a price must be above zero. Give what the supplier asks.", .line.saturating_add(1))]
    NoPrice {
        /// Line, from zero.
        line: usize,
    },
    /// More is required than is worth having.
    #[error(
        "Line {}: {required} packs are required, but at most {most} are worth having. \
         Raise the most or lower the need.",
        .line.saturating_add(1)
    )]
    MostBelowRequired {
        /// Line, from zero.
        line: usize,
        /// Packs required.
        required: i64,
        /// Most packs worth having.
        most: i64,
    },
    /// A price rises with the quantity.
    #[error("Price {} is dearer than the one for less. Look for a mistyped price.", .index.saturating_add(1))]
    PriceRises {
        /// Place of the break, from zero.
        index: usize,
    },
    /// Too many ways to fill an order.
    #[error("The order can be filled in too many ways to find the cheapest. Split it in two.")]
    TooManyWays,
    /// Two currencies in one order.
    #[error("{what} is in {found}, the order in {wanted}. Give every figure in one currency.")]
    Currency {
        /// Which figure.
        what: &'static str,
        /// Its currency.
        found: Currency,
        /// The currency of the order.
        wanted: Currency,
    },
    /// The supplier takes no orders.
    #[error("The supplier takes orders on no day of the week. Say on which it does.")]
    NoOrderDay,
    /// A date lies outside the calendar.
    #[error("The order date lies outside the calendar. Look at the date of the need.")]
    DateBeyond,
}

/// The figure itself where it is finite and above zero.
pub(super) fn above_zero(figure: f64, what: &'static str) -> Result<f64, SupplyError> {
    if figure.is_finite() && figure > 0.0 {
        Ok(figure)
    } else {
        Err(SupplyError::NotPositive { what })
    }
}

/// The figure itself where it is finite and not below zero.
pub(super) fn at_least_zero(figure: f64, what: &'static str) -> Result<f64, SupplyError> {
    if figure.is_finite() && figure >= 0.0 {
        Ok(figure)
    } else {
        Err(SupplyError::Negative { what })
    }
}

/// The figure itself where it lies strictly between zero and one.
pub(super) fn share(figure: f64, what: &'static str) -> Result<f64, SupplyError> {
    if figure > 0.0 && figure < 1.0 {
        Ok(figure)
    } else {
        Err(SupplyError::NotAShare { what })
    }
}

/// The result itself where it is a number.
pub(super) fn held(result: f64, what: &'static str) -> Result<f64, SupplyError> {
    if result.is_finite() {
        Ok(result)
    } else {
        Err(SupplyError::BeyondNumbers { what })
    }
}

/// The count itself where it lies from nothing to `most`.
pub(super) fn count_within(count: i64, most: i64, what: &'static str) -> Result<i64, SupplyError> {
    if count < 0 {
        Err(SupplyError::Negative { what })
    } else if count > most {
        Err(SupplyError::TooLarge { what, most })
    } else {
        Ok(count)
    }
}
