//! Money on the wire and in sentences: a plain decimal with its ISO 4217 code.
//!
//! It serves every price, cost and quote shown. An amount never has an exponent, never a sign on
//! nothing, and always the digits of its currency's coin; digits beyond those are kept.

use fettlebook_contract::v1;
use fettlebook_model::money::Money;

/// A sum of money.
pub(in crate::edge) fn money(money: Money) -> v1::Money {
    v1::Money {
        amount: amount(money),
        currency_code: money.currency.to_string(),
    }
}

/// A sum of money in a sentence, such as `18.90 EUR`.
pub(super) fn text(money: Money) -> String {
    format!("{} {}", amount(money), money.currency)
}

fn amount(money: Money) -> String {
    let places = money.currency.places();
    let mut amount = money.amount.normalize();
    if amount.scale() < places {
        amount.rescale(places);
    }
    amount.to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source of the decimals of a currency: ISO 4217, list one.
    #[test]
    fn an_amount_has_the_digits_of_its_coin_and_those_it_has_beyond() {
        for (amount, currency, shown) in [
            ("18.9", "EUR", "18.90 EUR"),
            ("18.9000", "EUR", "18.90 EUR"),
            ("0.0125", "EUR", "0.0125 EUR"),
            ("1000000", "EUR", "1000000.00 EUR"),
            ("0", "EUR", "0.00 EUR"),
            ("120.0", "JPY", "120 JPY"),
            ("1.5", "KWD", "1.500 KWD"),
        ] {
            assert_eq!(text(Money::parse(amount, currency).unwrap()), shown);
        }
    }

    #[test]
    fn nothing_has_no_sign() {
        let nothing = Money::parse("0.00", "EUR").unwrap();
        let below = Money {
            amount: -nothing.amount,
            ..nothing
        };
        assert_eq!(money(below).amount, "0.00");
    }
}
