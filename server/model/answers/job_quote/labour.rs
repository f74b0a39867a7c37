//! Labour on a quote: a time at a price for an hour, or one sum.

use fettlebook_quantity::Seconds;

use super::QuotedLine;
use crate::ground::money::{Currency, Money};
use crate::ground::refusal::{Reason, Refusal};
use crate::maths::cost::{CostError, for_time, quantise};

/// Labour that is quoted along with the materials, net.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Labour {
    /// So much time, at a price for an hour.
    Timed {
        /// Time, s.
        time_s: i64,
        /// Net price of an hour.
        rate: Money,
    },
    /// One net sum.
    Sum(Money),
}

impl Labour {
    /// Its line on a quote in this currency.
    ///
    /// # Errors
    /// When it is in another currency, or needs more digits than can be held.
    pub(super) fn line(self, currency: Currency) -> Result<QuotedLine, Refusal> {
        let (field, given) = match self {
            Self::Timed { rate, .. } => ("labour_rate", rate),
            Self::Sum(sum) => ("labour_net", sum),
        };
        if given.currency != currency {
            return Err(Refusal::new(
                Reason::CurrencyMismatch,
                field,
                format!(
                    "Labour in {} meets materials in {currency}; a quote keeps to one currency.",
                    given.currency
                ),
                format!("Give it in {currency}."),
            ));
        }
        let refused = |error: CostError| Refusal::quantity(field, error.to_string(), "");
        let places = currency.places();
        let (text, amount) = match self {
            Self::Timed { time_s, rate } => {
                let net = for_time(rate.amount, time_s, places);
                let text = format!(
                    "labour, {} at {} an hour",
                    Seconds::from_s(time_s),
                    in_coins(rate)
                );
                (text, net)
            }
            Self::Sum(sum) => ("labour".to_owned(), quantise(sum.amount, places)),
        };
        let amount = amount.map_err(refused)?;
        Ok(QuotedLine {
            text,
            net: Money { amount, currency },
        })
    }
}

/// A sum with the digits of its coin, and those that it has beyond.
fn in_coins(sum: Money) -> Money {
    let mut amount = sum.amount;
    if amount.scale() < sum.currency.places() {
        amount.rescale(sum.currency.places());
    }
    Money { amount, ..sum }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(labour: Labour) -> Result<(String, String), Refusal> {
        let line = labour.line("EUR".parse().unwrap())?;
        Ok((line.text, line.net.to_string()))
    }

    fn timed(time_s: i64, rate: &str, currency: &str) -> Labour {
        let rate = Money::parse(rate, currency).unwrap();
        Labour::Timed { time_s, rate }
    }

    /// Reckoned by hand: 6.5 h at 45 are 292.50; 20 min at 45.01 are 15.00333, to the cent 15.00; 50 min at
    /// 33.33 are 27.775, to the cent 27.78 as EN 16931 rounds.
    #[test]
    fn time_at_a_price_for_an_hour_is_rounded_once_to_the_cent() {
        for (time_s, rate, text, net) in [
            (
                23_400,
                "45",
                "labour, 6 h 30 min at 45.00 EUR an hour",
                "292.50 EUR",
            ),
            (
                1_200,
                "45.01",
                "labour, 20 min at 45.01 EUR an hour",
                "15.00 EUR",
            ),
            (
                3_000,
                "33.33",
                "labour, 50 min at 33.33 EUR an hour",
                "27.78 EUR",
            ),
        ] {
            let told = line(timed(time_s, rate, "EUR")).unwrap();
            assert_eq!(told, (text.to_owned(), net.to_owned()));
        }
        let sum = Labour::Sum(Money::parse("270", "EUR").unwrap());
        assert_eq!(line(sum).unwrap().1, "270.00 EUR");
    }

    #[test]
    fn another_currency_is_refused_with_both() {
        let refused = line(timed(3_600, "45", "GBP")).unwrap_err();
        assert_eq!(
            (refused.reason, refused.field.as_str()),
            (Reason::CurrencyMismatch, "labour_rate")
        );
        assert!(refused.what.contains("GBP") && refused.what.contains("EUR"));
    }
}
