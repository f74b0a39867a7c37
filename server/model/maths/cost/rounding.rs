//! Rounding of money to the smallest coin.
//!
//! It serves every amount that is shown or added up. Zero never has a sign, and the digits of the coin
//! are always there: 1.5 becomes 1.50.

use rust_decimal::Decimal;

use super::{CostError, Fraction};

/// The value at so many decimals, a half away from zero, as EN 16931 asks of invoices: none added without a digit and zero without a sign.
///
/// Source: General Decimal Arithmetic (M. F. Cowlishaw), operation quantize; unlike there, what rounds
/// to nothing loses its sign.
///
/// # Errors
/// [`CostError::TooLarge`] where the result needs more than the 28 digits a decimal holds.
pub(crate) fn quantise(value: Decimal, places: u32) -> Result<Decimal, CostError> {
    Fraction::of(value)
        .and_then(|value| value.round(places))
        .ok_or(CostError::TooLarge {
            what: "The rounded amount",
        })
}

#[cfg(test)]
mod tests {
    use super::quantise;
    use rust_decimal::Decimal;

    #[test]
    fn nothing_never_has_a_sign() {
        for value in ["-0.004", "-0.00", "-0"] {
            let value: Decimal = value.parse().unwrap();
            assert_eq!(quantise(value, 2).unwrap().to_string(), "0.00");
        }
    }

    #[test]
    fn a_value_with_too_many_digits_is_refused_with_a_sentence() {
        let refused = quantise(Decimal::MAX, 2).unwrap_err();
        assert_eq!(
            refused.to_string(),
            "The rounded amount needs more digits than can be held exactly. \
             Look for a mistyped figure."
        );
        assert!(quantise(Decimal::ONE, 300).is_err());
    }
}
