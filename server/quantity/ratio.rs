//! An exact fraction, for overlaps and allowances that must not pass through floating point.
//!
//! It serves the stroke and area formulas. Its denominator is always positive and it is always in
//! lowest terms, also when read back from a stored book.

use std::cmp::Ordering;
use std::fmt;

use serde::{Deserialize, Serialize};

use crate::error::QuantityError;

/// An exact fraction of two integers, reduced, with a positive denominator.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "(i64, i64)", into = "(i64, i64)")]
pub struct Ratio {
    num: i64,
    den: i64,
}

impl Ratio {
    /// Nothing: 0/1.
    pub const ZERO: Self = Self { num: 0, den: 1 };
    /// The whole: 1/1.
    pub const ONE: Self = Self { num: 1, den: 1 };

    /// The fraction `num`/`den` in lowest terms; `None` for a zero denominator or where the
    /// reduced fraction does not fit.
    #[must_use]
    pub fn new(num: i64, den: i64) -> Option<Self> {
        let shared = gcd(num.unsigned_abs(), den.unsigned_abs());
        if den == 0 || shared == 0 {
            return None;
        }
        let sign = if (num < 0) == (den < 0) { 1 } else { -1 };
        let reduced_num = i128::from(num.unsigned_abs() / shared) * sign;
        let reduced_den = i128::from(den.unsigned_abs() / shared);
        Some(Self {
            num: i64::try_from(reduced_num).ok()?,
            den: i64::try_from(reduced_den).ok()?,
        })
    }

    /// From thousandths: 500 is one half.
    #[must_use]
    pub fn from_permille(permille: i64) -> Self {
        Self::new(permille, 1000).unwrap_or(Self::ZERO)
    }

    /// In thousandths, rounded half away from zero and held within `i64`.
    #[must_use]
    pub fn permille(self) -> i64 {
        let thousandths = i128::from(self.num) * 1000;
        let den = i128::from(self.den);
        let half = if thousandths < 0 { -(den / 2) } else { den / 2 };
        let rounded = (thousandths + half) / den;
        i64::try_from(rounded).unwrap_or(if rounded < 0 { i64::MIN } else { i64::MAX })
    }

    /// The upper number of the reduced fraction.
    #[must_use]
    pub const fn num(self) -> i64 {
        self.num
    }

    /// The lower number of the reduced fraction, always above zero.
    #[must_use]
    pub const fn den(self) -> i64 {
        self.den
    }
}

impl Default for Ratio {
    fn default() -> Self {
        Self::ZERO
    }
}

impl PartialOrd for Ratio {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Ratio {
    fn cmp(&self, other: &Self) -> Ordering {
        let left = i128::from(self.num) * i128::from(other.den);
        let right = i128::from(other.num) * i128::from(self.den);
        left.cmp(&right)
    }
}

impl fmt::Display for Ratio {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{}/{}", self.num, self.den))
    }
}

impl From<Ratio> for (i64, i64) {
    fn from(ratio: Ratio) -> Self {
        (ratio.num, ratio.den)
    }
}

impl TryFrom<(i64, i64)> for Ratio {
    type Error = QuantityError;

    fn try_from((num, den): (i64, i64)) -> Result<Self, QuantityError> {
        Self::new(num, den).ok_or(QuantityError::NotARatio { num, den })
    }
}

fn gcd(mut a: u64, mut b: u64) -> u64 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

#[cfg(test)]
mod tests {
    use super::Ratio;

    #[test]
    fn a_ratio_is_kept_in_lowest_terms_with_a_positive_denominator() {
        let ratio = Ratio::new(6, -8).unwrap();
        assert_eq!((ratio.num(), ratio.den()), (-3, 4));
    }

    #[test]
    fn a_zero_denominator_is_no_ratio() {
        assert_eq!(Ratio::new(1, 0), None);
        assert_eq!(Ratio::new(0, 0), None);
        assert!(Ratio::try_from((1, 0)).is_err());
    }

    #[test]
    fn the_extremes_do_not_overflow() {
        assert_eq!(Ratio::new(i64::MIN, i64::MIN), Some(Ratio::ONE));
        assert_eq!(Ratio::new(i64::MIN, -1), None);
        assert_eq!(Ratio::new(i64::MAX, 1).unwrap().permille(), i64::MAX);
    }

    #[test]
    fn thousandths_round_half_away_from_zero() {
        assert_eq!(Ratio::new(1, 2000).unwrap().permille(), 1);
        assert_eq!(Ratio::new(-1, 2000).unwrap().permille(), -1);
        assert_eq!(Ratio::new(1, 3).unwrap().permille(), 333);
        assert_eq!(Ratio::from_permille(500), Ratio::new(1, 2).unwrap());
    }

    #[test]
    fn ratios_compare_by_value_not_by_parts() {
        assert!(Ratio::new(1, 3) < Ratio::new(1, 2));
        assert!(Ratio::new(-1, 2) < Ratio::new(1, 1000));
    }
}
