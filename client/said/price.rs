//! Prices as people say them of things as sold: `18.90`, `18,90 EUR`, `€18.90 for 2`, `29EUR`.

use fettlebook_contract::v1::Money;
use fettlebook_quantity::{MoneyError, parse_price};

/// What something costs as it is sold.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Price {
    /// Price of a pack.
    pub(crate) price: Money,
    /// Pieces in the pack; nothing where it is not said.
    pub(crate) pack: Option<i64>,
}

/// Reads a price; `currency` is that of the book, for one that names none.
///
/// # Errors
/// A sentence that says how it is written.
pub(crate) fn read(text: &str, currency: Option<&str>) -> Result<Price, String> {
    let code = currency.unwrap_or("EUR");
    let unclear = || {
        format!(
            "'{}' is not a price. Write 18.90 {code}, or 18.90 {code} for 2 where so many are sold together.",
            text.trim()
        )
    };
    let lower = text.trim().to_lowercase();
    // The same with a currency would be one.
    if currency.is_none() && names_none(&lower) {
        return Err(format!(
            "'{}' names no currency. Write one behind it, such as 18.90 EUR, or say it once for all with \
             --currency EUR.",
            text.trim()
        ));
    }
    let (costs, pack) = match lower.split_once(" for ").or_else(|| lower.split_once('/')) {
        Some((costs, pack)) => (costs, Some(pieces(pack).ok_or_else(unclear)?)),
        None => (lower.as_str(), None),
    };
    let sum = parse_price(costs).map_err(|why| match why {
        MoneyError::Unclear {
            text,
            joined,
            pointed,
        } => format!("'{text}' could be {joined} or {pointed}. Write it as 18.90 {code}."),
        _ => unclear(),
    })?;
    let of_book = || currency.map(str::to_owned);
    let price = Money {
        currency_code: sum.currency.or_else(of_book).ok_or_else(unclear)?,
        amount: sum.amount,
    };
    Ok(Price { price, pack })
}

/// Whether a price would be one if it named its currency.
fn names_none(text: &str) -> bool {
    let named = |letter: char| letter.is_alphabetic() || matches!(letter, '€' | '£' | '¥');
    let sum = text.split_once(" for ").map_or(text, |(sum, _)| sum);
    !sum.contains(named) && read(text, Some("EUR")).is_ok()
}

fn pieces(text: &str) -> Option<i64> {
    let first = text.split_whitespace().next()?;
    let count = super::count(first)?;
    (count > 0).then_some(count)
}

#[cfg(test)]
mod tests {
    use super::read;

    fn told(text: &str) -> (String, Option<i64>) {
        let price = read(text, Some("EUR")).unwrap_or_else(|why| panic!("{text}: {why}"));
        let money = price.price;
        (
            format!("{} {}", money.amount, money.currency_code),
            price.pack,
        )
    }

    #[test]
    fn a_price_is_in_the_currency_it_names_or_in_the_books() {
        for (text, money) in [
            ("18.90", "18.90 EUR"),
            ("18,90", "18.90 EUR"),
            ("18,90 €", "18.90 EUR"),
            ("€29", "29 EUR"),
            ("29EUR", "29 EUR"),
            ("£7.20", "7.20 GBP"),
            ("1.234,50", "1234.50 EUR"),
        ] {
            assert_eq!(told(text), (money.to_owned(), None), "{text}");
        }
        assert_eq!(told("18.90 for 2"), ("18.90 EUR".to_owned(), Some(2)));
        assert_eq!(told("32 EUR / 24 pack"), ("32 EUR".to_owned(), Some(24)));
    }

    #[test]
    fn what_could_be_two_sums_is_refused() {
        for text in ["1.234", "cheap", "18.90 apples", "", "12.345,678"] {
            let why = read(text, Some("EUR")).unwrap_err();
            assert!(why.contains("18.90 EUR"), "{text}: {why}");
        }
        // The two sums are named, as everywhere.
        let why = read("1.234", Some("EUR")).unwrap_err();
        assert!(why.contains("1234 or 1.234"), "{why}");
        let why = read("18.90 for 2", None).unwrap_err();
        assert!(why.contains("names no currency"), "{why}");
        assert!(read("18.90 EUR", None).is_ok());
    }
}
