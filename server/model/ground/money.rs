//! Money: an exact decimal amount with its ISO 4217 currency.
//!
//! Serves prices and, later, costs. Never a float, never negative zero, and two currencies are
//! never added.

use std::fmt;
use std::str::FromStr as _;

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

pub use crate::ground::currency::Currency;
use crate::ground::ids::shown;

/// Most digits before the point: a machine in the smallest coins that are paid with has eleven.
const WHOLE_DIGITS_MAX: usize = 12;

/// Money that is not, with the accepted form.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum MoneyError {
    /// The amount is not a plain decimal.
    #[error(
        "`{0}` is not an amount of money. Write it with a point and no thousands mark, such as 18.90."
    )]
    Amount(String),
    /// The amount is negative or absurd.
    #[error("`{0}` is not a price. It lies between 0 and 999999999999.")]
    Range(String),
    /// The standard does not have the currency.
    #[error("`{0}` is not a currency of ISO 4217. Use its three capital letters, such as EUR.")]
    Currency(String),
}

/// A price: an exact amount in one currency, not negative.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Money {
    /// Amount in whole and parts of the currency's unit.
    pub amount: Decimal,
    /// Currency.
    pub currency: Currency,
}

impl Money {
    /// Reads an amount and a currency code.
    ///
    /// # Errors
    /// When the amount is not a plain non-negative decimal of at most twelve digits before its
    /// point, or the code is none of ISO 4217.
    pub fn parse(amount: &str, currency: &str) -> Result<Self, MoneyError> {
        let plain = !amount.is_empty()
            && amount.len() <= 20
            && amount.bytes().all(|b| b.is_ascii_digit() || b == b'.');
        let value = Decimal::from_str(amount)
            .ok()
            .filter(|_| plain)
            .ok_or_else(|| MoneyError::Amount(shown(amount)))?;
        let (whole, _) = amount.split_once('.').unwrap_or((amount, ""));
        let digits = whole.trim_start_matches('0').len();
        if value.is_sign_negative() || digits > WHOLE_DIGITS_MAX {
            return Err(MoneyError::Range(shown(amount)));
        }
        Ok(Self {
            amount: value,
            currency: currency.parse()?,
        })
    }
}

impl fmt::Display for Money {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.amount, self.currency)
    }
}

/// Price of a pack from so many packs on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct PriceBreak {
    /// Packs from which it holds.
    pub from_pack_count: i64,
    /// Price of one pack.
    pub price: Money,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_price_keeps_its_digits() {
        assert_eq!(
            Money::parse("18.90", "EUR").unwrap().to_string(),
            "18.90 EUR"
        );
    }

    #[test]
    fn a_price_has_up_to_twelve_digits_before_its_point() {
        for amount in ["999999999999.99", "1000001", "0"] {
            let money = Money::parse(amount, "IDR").unwrap();
            assert_eq!(money.amount.to_string(), amount);
        }
    }

    #[test]
    fn what_is_not_a_price_is_refused() {
        for (amount, code) in [
            ("-1", "EUR"),
            ("-0.00", "EUR"),
            ("1,50", "EUR"),
            ("1e3", "EUR"),
            ("", "EUR"),
            ("1000000000000", "EUR"),
            ("NaN", "EUR"),
            ("1", "eur"),
            ("1", "EURO"),
            ("1", "QQQ"),
        ] {
            assert!(Money::parse(amount, code).is_err(), "{amount} {code}");
        }
    }
}
