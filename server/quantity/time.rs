//! How people write spans of time: one or more parts, the larger unit first.
//!
//! It serves drying times, machine times and lead times. A bare `m` is refused here, and a part
//! without a unit is never taken for minutes.

use crate::error::{QuantityError, excerpt};
use crate::grammar::{known_unit, too_large, wrong_kind};
use crate::kind::Kind;
use crate::number::{Rounding, split_number};
use crate::units::Seconds;

/// Reads a span of time, to the nearest second; see [`crate::SECONDS_FORMS`].
///
/// # Errors
/// Says what was wrong and which forms are accepted.
pub fn parse_seconds(text: &str) -> Result<Seconds, QuantityError> {
    let kind = Kind::Time;
    let mut total_s = 0_i64;
    let mut smallest_unit_s = i128::MAX;
    let mut left = text.trim();
    loop {
        let (number, rest) = split_number(left, kind)?;
        let end = rest
            .find(|c: char| c.is_ascii_digit())
            .unwrap_or(rest.len());
        let (unit_text, after) = rest.split_at_checked(end).unwrap_or((rest, ""));
        let unit = known_unit(unit_text, text, kind)?;
        if unit.kind != kind {
            return Err(wrong_kind(unit_text, unit, kind));
        }
        if unit.num >= smallest_unit_s {
            return Err(QuantityError::OutOfOrder {
                text: excerpt(text),
                kind,
            });
        }
        smallest_unit_s = unit.num;
        total_s = number
            .scaled(unit.num, unit.den, Rounding::HalfAway)
            .and_then(|part_s| total_s.checked_add(part_s))
            .filter(|sum_s| *sum_s <= kind.limit())
            .ok_or_else(|| too_large(text, kind))?;
        left = after.trim();
        if left.is_empty() {
            return Ok(Seconds::new(total_s));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::parse_seconds;

    fn seconds(text: &str) -> i64 {
        parse_seconds(text).unwrap().s()
    }

    #[test]
    fn a_time_is_read_in_one_part_or_several() {
        assert_eq!(seconds("45 s"), 45);
        assert_eq!(seconds("90 min"), 5_400);
        assert_eq!(seconds("2 h"), 7_200);
        assert_eq!(seconds("1.5 h"), 5_400);
        assert_eq!(seconds("1 h 30 min"), 5_400);
        assert_eq!(seconds("1h30min5s"), 5_405);
        assert_eq!(seconds("2 days"), 172_800);
    }

    #[test]
    fn a_part_without_a_unit_is_not_guessed() {
        assert!(
            parse_seconds("90")
                .unwrap_err()
                .to_string()
                .contains("has no unit")
        );
        assert!(
            parse_seconds("1 h 30")
                .unwrap_err()
                .to_string()
                .contains("has no unit")
        );
        assert!(
            parse_seconds("5 m")
                .unwrap_err()
                .to_string()
                .contains("minutes")
        );
    }

    #[test]
    fn parts_out_of_order_or_of_another_kind_are_refused() {
        assert!(
            parse_seconds("30 min 1 h")
                .unwrap_err()
                .to_string()
                .contains("larger unit")
        );
        assert!(
            parse_seconds("1 h 1 h")
                .unwrap_err()
                .to_string()
                .contains("larger unit")
        );
        assert!(
            parse_seconds("1 h 30 ml")
                .unwrap_err()
                .to_string()
                .contains("a volume")
        );
        assert!(parse_seconds("1 h, 30 min").is_err());
    }

    #[test]
    fn more_than_ten_years_is_refused() {
        assert!(parse_seconds("3650 days").is_ok());
        assert!(
            parse_seconds("3661 days")
                .unwrap_err()
                .to_string()
                .contains("10 years")
        );
    }
}
