//! Money: an exact decimal amount with its ISO 4217 currency.
//!
//! Serves prices and, later, costs. Never a float, never negative zero, and two currencies are
//! never added.

use std::fmt;
use std::str::FromStr;

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use crate::ground::ids::shown;

/// Money that is not, with the accepted form.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum MoneyError {
    /// The amount is not a plain decimal.
    #[error(
        "`{0}` is not an amount of money. Write it with a point and no thousands mark, such as 18.90."
    )]
    Amount(String),
    /// The amount is negative or absurd.
    #[error("`{0}` is not a price. It lies between 0 and 1000000.")]
    Range(String),
    /// The currency is not a code.
    #[error(
        "`{0}` is not a currency code. Use the three capital letters of ISO 4217, such as EUR."
    )]
    Currency(String),
}

/// An ISO 4217 currency code. Only its form is checked.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Currency([u8; 3]);

impl FromStr for Currency {
    type Err = MoneyError;

    fn from_str(text: &str) -> Result<Self, MoneyError> {
        match text.as_bytes() {
            &[a, b, c] if [a, b, c].iter().all(u8::is_ascii_uppercase) => Ok(Self([a, b, c])),
            _ => Err(MoneyError::Currency(shown(text))),
        }
    }
}

impl fmt::Display for Currency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(std::str::from_utf8(&self.0).unwrap_or_default())
    }
}

impl fmt::Debug for Currency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl Serialize for Currency {
    fn serialize<S: serde::Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
        out.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Currency {
    fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let text = String::deserialize(from)?;
        text.parse().map_err(serde::de::Error::custom)
    }
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
    /// When the amount is not a plain non-negative decimal up to a million, or the code has not the
    /// form of ISO 4217.
    pub fn parse(amount: &str, currency: &str) -> Result<Self, MoneyError> {
        let plain = !amount.is_empty()
            && amount.len() <= 20
            && amount.bytes().all(|b| b.is_ascii_digit() || b == b'.');
        let value = Decimal::from_str(amount)
            .ok()
            .filter(|_| plain)
            .ok_or_else(|| MoneyError::Amount(shown(amount)))?;
        if value.is_sign_negative() || value > Decimal::from(1_000_000) {
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
    fn what_is_not_a_price_is_refused() {
        for (amount, code) in [
            ("-1", "EUR"),
            ("-0.00", "EUR"),
            ("1,50", "EUR"),
            ("1e3", "EUR"),
            ("", "EUR"),
            ("1000001", "EUR"),
            ("NaN", "EUR"),
            ("1", "eur"),
            ("1", "EURO"),
        ] {
            assert!(Money::parse(amount, code).is_err(), "{amount} {code}");
        }
    }
}
