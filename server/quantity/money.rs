//! Sums of money as people write them: `29EUR`, `29 €`, `€29`, `14,50`, `1.250,00 EUR`.
//!
//! It serves every place where a price is typed. A sum without a currency is in the book's; what could be
//! read in two ways is refused with both.

use thiserror::Error;

use crate::error::excerpt;
use crate::number::{Marks, marks, split_numeral};

/// How a sum of money may be written.
pub(crate) const MONEY_FORMS: &str = "18.90 EUR, 18,90 €, €29 or, in the book's currency, 18.90";

/// Why a text is not a sum of money.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum MoneyError {
    /// It has no number.
    #[error("'{0}' is not a price; write {MONEY_FORMS}")]
    NotMoney(String),
    /// It lies below zero.
    #[error("'{0}' is below zero; a price is written {MONEY_FORMS}")]
    Negative(String),
    /// A mark before three digits.
    #[error("'{text}' could be {joined} or {pointed}; write the one it is, or {MONEY_FORMS}")]
    Unclear {
        /// What was written.
        text: String,
        /// The reading with thousands.
        joined: String,
        /// The reading with decimals.
        pointed: String,
    },
    /// No currency goes by that word.
    #[error("'{word}' is not a currency; write {MONEY_FORMS}")]
    Currency {
        /// What stands where the currency would.
        word: String,
    },
}

/// A sum as it was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Price {
    /// The amount, with a point before its decimals and no marks of thousands.
    pub amount: String,
    /// Three capital letters where a currency was written; whether there is one of that name is not looked
    /// at.
    pub currency: Option<String>,
}

/// Signs and words for currencies, with their codes by ISO 4217. A dollar by its sign alone may be one of
/// several, so it is not here.
const CURRENCIES: &[(&str, &str)] = &[
    ("€", "EUR"),
    ("euro", "EUR"),
    ("euros", "EUR"),
    ("£", "GBP"),
    ("¥", "JPY"),
    ("pound", "GBP"),
    ("pounds", "GBP"),
    ("us$", "USD"),
    ("a$", "AUD"),
    ("ca$", "CAD"),
    ("nz$", "NZD"),
    ("zł", "PLN"),
    ("kč", "CZK"),
    ("₹", "INR"),
];

/// Digits of a group between marks of thousands.
const GROUP_DIGITS: usize = 3;

/// Whether a currency's coin is a thousandth. Source: ISO 4217, list one, as published on 2026-01-01.
fn has_mills(currency: Option<&str>) -> bool {
    currency.is_some_and(|code| ["BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"].contains(&code))
}

/// The code that a word or sign for a currency stands for.
fn currency(word: &str) -> Result<Option<String>, MoneyError> {
    let key = word.trim().trim_end_matches('.').to_lowercase();
    if key.is_empty() {
        return Ok(None);
    }
    if let Some((_, code)) = CURRENCIES.iter().find(|(known, _)| *known == key) {
        return Ok(Some((*code).to_owned()));
    }
    if key.len() == 3 && key.bytes().all(|byte| byte.is_ascii_alphabetic()) {
        return Ok(Some(key.to_uppercase()));
    }
    Err(MoneyError::Currency {
        word: excerpt(word),
    })
}

/// Reads a sum of money, in any of the forms that a refusal names.
///
/// ```
/// use fettlebook_quantity::parse_price;
/// let price = parse_price("14,50 €").unwrap();
/// assert_eq!((price.amount.as_str(), price.currency.as_deref()), ("14.50", Some("EUR")));
/// assert_eq!(parse_price("7.20").unwrap().currency, None);
/// ```
///
/// # Errors
/// Says what was wrong and how a sum is written.
pub fn parse_price(text: &str) -> Result<Price, MoneyError> {
    let text = text.trim();
    let refused = || MoneyError::NotMoney(excerpt(text));
    let start = text
        .find(|c: char| c.is_ascii_digit() || c == '-' || c == '−')
        .ok_or_else(refused)?;
    let (before, rest) = text.split_at_checked(start).ok_or_else(refused)?;
    if rest.starts_with(['-', '−']) {
        return Err(MoneyError::Negative(excerpt(text)));
    }
    let (numeral, after) = split_numeral(rest);
    // `14,-` and `14.-` are whole sums.
    let (numeral, after) = match after.strip_prefix(['-', '–', '—']) {
        Some(after) => (numeral.trim_end_matches([',', '.']), after),
        None => (numeral, after),
    };
    let currency = match (currency(before)?, currency(after)?) {
        (Some(one), Some(other)) if one != other => return Err(refused()),
        (one, other) => one.or(other),
    };
    let unclear = || MoneyError::Unclear {
        text: excerpt(text),
        joined: excerpt(&text.replace([',', '.'], "")),
        pointed: excerpt(&text.replace(',', ".")),
    };
    let amount = match marks(numeral) {
        Marks::Plain { decimals, .. }
            if decimals.len() == GROUP_DIGITS && !has_mills(currency.as_deref()) =>
        {
            return Err(unclear());
        }
        Marks::Plain {
            whole,
            decimals: "",
        } => whole,
        Marks::Plain { whole, decimals } => format!("{whole}.{decimals}"),
        Marks::Unclear => return Err(unclear()),
        Marks::Wrong => return Err(refused()),
    };
    Ok(Price { amount, currency })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::{any, prop_assert_eq, proptest};

    use super::parse_price;

    fn read(text: &str) -> String {
        match parse_price(text) {
            Ok(price) => format!("{} {}", price.amount, price.currency.unwrap_or_default()),
            Err(why) => why.to_string(),
        }
    }

    #[test]
    fn a_sum_is_read_with_its_currency_before_behind_or_nowhere() {
        for (text, expected) in [
            ("18.90 EUR", "18.90 EUR"),
            ("29EUR", "29 EUR"),
            ("29 eur", "29 EUR"),
            ("7.20 €", "7.20 EUR"),
            ("€29", "29 EUR"),
            ("EUR 14,50", "14.50 EUR"),
            ("4,50EUR", "4.50 EUR"),
            ("14,-", "14 "),
            ("14.50", "14.50 "),
            ("£ 3", "3 GBP"),
            ("12 euros", "12 EUR"),
            ("1.250,00 EUR", "1250.00 EUR"),
            ("1,250.00 EUR", "1250.00 EUR"),
            ("1,250,000", "1250000 "),
            (" 18.905 KWD ", "18.905 KWD"),
        ] {
            assert_eq!(read(text), expected, "{text}");
        }
    }

    #[test]
    fn what_is_no_sum_is_refused_with_the_forms() {
        for text in [
            "",
            "EUR",
            "free",
            "-3 EUR",
            "1.2.3 EUR",
            "14, EUR",
            "3 groats",
            "€3 GBP",
            "1,250 EUR",
            "1.250 EUR",
            "$ 3",
        ] {
            assert!(read(text).contains("18.90 EUR"), "{text}: {}", read(text));
        }
        assert!(read("1,250 EUR").contains("1250 EUR or 1.250 EUR"));
        assert!(read("3 groats").contains("groats"));
    }

    proptest! {
        /// What is shown of a sum can be typed.
        #[test]
        fn a_sum_is_read_back_as_it_is_shown(cents in 0_u64..100_000_000_000) {
            let shown = format!("{}.{:02} EUR", cents / 100, cents % 100);
            prop_assert_eq!(read(&shown), shown);
        }

        #[test]
        fn no_text_makes_it_fall_over(text in any::<String>()) {
            let _ = parse_price(&text);
        }
    }
}
