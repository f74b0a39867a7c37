//! Sharing an amount out by weight so that the shares add up to it.
//!
//! It serves freight, which the lines of a delivery carry by their value. No coin is lost or made.

use std::cmp::Reverse;

use rust_decimal::Decimal;

use super::CostError;
use super::error::at_least_zero;

/// Shares of `total` in proportion to `weights`, each a whole number of coins of `places` decimals.
///
/// Formula: the largest-remainder method (A. Hamilton): every line gets its exact share rounded down,
/// and the coins left go to the largest remainders, ties to the earlier line. A negative total (a
/// credit) is shared like its opposite.
///
/// # Errors
/// When a weight is below zero, none is above, the total has parts below a coin, or a share needs more
/// digits than can be held.
pub(crate) fn allocate(
    total: Decimal,
    weights: &[Decimal],
    places: u32,
) -> Result<Vec<Decimal>, CostError> {
    for weight in weights {
        at_least_zero(*weight, "The value of a line")?;
    }
    let too_large = CostError::TooLarge { what: "A share" };
    let rest = total.normalize();
    if rest.scale() > places {
        return Err(CostError::NotWholeCoins { total, places });
    }
    let coins = digits_at(rest, places).ok_or(too_large.clone())?;
    let scale = weights.iter().map(Decimal::scale).max().unwrap_or(0);
    let weights: Option<Vec<i128>> = weights
        .iter()
        .map(|weight| digits_at(*weight, scale))
        .collect();
    let weights = weights.ok_or(too_large.clone())?;
    if weights.iter().all(|weight| *weight == 0) {
        return Err(CostError::NothingToShareBy { total });
    }
    let sign = coins.signum();
    let amounts = largest_remainder(coins.checked_abs(), &weights).and_then(|shares| {
        let signed = shares.into_iter().map(|share| share.checked_mul(sign));
        signed
            .map(|share| Decimal::try_from_i128_with_scale(share?, places).ok())
            .collect()
    });
    amounts.ok_or(too_large)
}

/// The value as a whole number of units of so many decimals, which are at least its own.
fn digits_at(value: Decimal, places: u32) -> Option<i128> {
    let finer = places.checked_sub(value.scale())?;
    value.mantissa().checked_mul(10_i128.checked_pow(finer)?)
}

/// Whole coins for each weight; `None` where a figure does not fit.
fn largest_remainder(coins: Option<i128>, weights: &[i128]) -> Option<Vec<i128>> {
    let coins = coins?;
    let sum = weights
        .iter()
        .try_fold(0_i128, |sum, weight| sum.checked_add(*weight))?;
    let mut shares = Vec::with_capacity(weights.len());
    let mut remainders = Vec::with_capacity(weights.len());
    let mut left = coins;
    for (line, weight) in weights.iter().enumerate() {
        let exact = coins.checked_mul(*weight)?;
        let whole = exact.checked_div(sum)?;
        left = left.checked_sub(whole)?;
        shares.push(whole);
        remainders.push((Reverse(exact.checked_rem(sum)?), line));
    }
    remainders.sort_unstable();
    for (_, line) in remainders.into_iter().take(usize::try_from(left).ok()?) {
        let share = shares.get_mut(line)?;
        *share = share.checked_add(1)?;
    }
    Some(shares)
}

#[cfg(test)]
mod tests {
    use super::allocate;
    use rust_decimal::Decimal;

    fn shares(total: &str, weights: &[&str]) -> Result<Vec<String>, String> {
        let weights: Vec<Decimal> = weights.iter().map(|text| text.parse().unwrap()).collect();
        let shares = allocate(total.parse().unwrap(), &weights, 2);
        let shares = shares.map_err(|refused| refused.to_string())?;
        Ok(shares.iter().map(Decimal::to_string).collect())
    }

    /// Source: worked by hand: exact shares 3.2975, 1.6525 and nothing of 4.95.
    #[test]
    fn freight_is_carried_by_value() {
        let by_value = shares("4.95", &["37.80", "18.9430", "0"]);
        assert_eq!(by_value.unwrap(), ["3.30", "1.65", "0.00"]);
    }

    /// Source: worked by hand: exact shares 0.33⅓ and 0.66⅔; 0.14 2/7, 0.28 4/7 and 0.57 1/7.
    #[test]
    fn the_coin_left_goes_to_the_largest_remainder() {
        assert_eq!(shares("1", &["1", "2"]).unwrap(), ["0.33", "0.67"]);
        assert_eq!(
            shares("1", &["0.5", "1", "2"]).unwrap(),
            ["0.14", "0.29", "0.57"]
        );
    }

    #[test]
    fn a_tie_goes_to_the_earlier_line_and_a_credit_is_shared_alike() {
        assert_eq!(shares("0.01", &["1", "1"]).unwrap(), ["0.01", "0.00"]);
        assert_eq!(
            shares("-10", &["1", "1", "1"]).unwrap(),
            ["-3.34", "-3.33", "-3.33"]
        );
        assert_eq!(shares("-0.00", &["1"]).unwrap(), ["0.00"]);
    }

    #[test]
    fn what_cannot_be_shared_is_told() {
        assert_eq!(
            shares("1.005", &["1"]).unwrap_err(),
            "1.005 has more than 2 decimals and cannot be shared out. Round it first."
        );
        assert_eq!(
            shares("1", &["0", "0"]).unwrap_err(),
            "Nothing has a value to share 1 by. Give at least one line a value."
        );
        assert!(shares("1", &[]).is_err());
        assert_eq!(
            shares("1", &["2", "-1"]).unwrap_err(),
            "The value of a line is -1. It cannot be below zero."
        );
        let most = Decimal::MAX.to_string();
        assert!(shares(&most, &[&most, &most]).is_err());
    }
}
