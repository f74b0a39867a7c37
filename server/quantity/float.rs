//! The one place where counts become floating point and back.
//!
//! It serves the statistics, which are estimates; the ledger counts in integers and must not come
//! here to add things up.

/// A count as a float. Exact up to 2^53 (nine thousand million million); above that to the nearest
/// float, which no quantity of this book reaches.
#[must_use]
#[allow(
    clippy::as_conversions,
    clippy::cast_precision_loss,
    reason = "there is no From<i64> for f64; counts stay far below 2^53"
)]
pub const fn exact_f64(count: i64) -> f64 {
    count as f64
}

/// A float to the nearest integer, a half away from zero; held at the ends of `i64`, and 0 for what
/// is not a number.
#[must_use]
#[allow(
    clippy::as_conversions,
    clippy::cast_possible_truncation,
    reason = "there is no TryFrom<f64> for i64; the cast saturates and takes NaN to 0, as wanted"
)]
pub const fn round_to_i64(value: f64) -> i64 {
    value.round() as i64
}

#[cfg(test)]
mod tests {
    use super::{exact_f64, round_to_i64};

    #[test]
    fn rounding_goes_half_away_from_zero_and_never_wraps() {
        assert_eq!(round_to_i64(2.5), 3);
        assert_eq!(round_to_i64(-2.5), -3);
        assert_eq!(round_to_i64(f64::INFINITY), i64::MAX);
        assert_eq!(round_to_i64(f64::NEG_INFINITY), i64::MIN);
        assert_eq!(round_to_i64(f64::NAN), 0);
    }

    #[test]
    fn a_count_survives_the_way_there_and_back() {
        for count in [0, 1, -7, 1_000_000_007, 1 << 53] {
            assert_eq!(round_to_i64(exact_f64(count)), count);
        }
    }
}
