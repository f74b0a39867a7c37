//! How full a bottle, a box or a roll is, as people say it: `half`, `3/4`, `¾`, `60 %`, `full`, `empty`.
//!
//! It serves what is counted by eye. A share is of the whole that the thing holds when new.

use crate::kind::Kind;
use crate::number::{Rounding, split_number};
use crate::ratio::Ratio;

/// A hundred per cent.
const WHOLE_PER_CENT: i64 = 100;

/// The words for a share, with their numbers.
const WORDS: &[(&str, i64, i64)] = &[
    ("full", 1, 1),
    ("new", 1, 1),
    ("nearly full", 9, 10),
    ("three quarters", 3, 4),
    ("three-quarters", 3, 4),
    ("two thirds", 2, 3),
    ("half", 1, 2),
    ("a half", 1, 2),
    ("half full", 1, 2),
    ("a third", 1, 3),
    ("third", 1, 3),
    ("a quarter", 1, 4),
    ("quarter", 1, 4),
    ("nearly empty", 1, 10),
    ("empty", 0, 1),
    ("none", 0, 1),
    ("all gone", 0, 1),
];

/// Reads a share of a whole; nothing where the text says none.
///
/// ```
/// use fettlebook_quantity::{Ratio, parse_share};
/// assert_eq!(parse_share("half"), Ratio::new(1, 2));
/// assert_eq!(parse_share("¾ full"), Ratio::new(3, 4));
/// assert_eq!(parse_share("60 %"), Ratio::new(60, 100));
/// assert_eq!(parse_share("300 ml"), None);
/// ```
#[must_use]
pub fn parse_share(text: &str) -> Option<Ratio> {
    let lower = text.trim().to_lowercase();
    let said = lower.split_whitespace().collect::<Vec<_>>().join(" ");
    if let Some((_, num, den)) = WORDS.iter().find(|(word, ..)| *word == said) {
        return Ratio::new(*num, *den);
    }
    let said = said
        .strip_suffix(" full")
        .or_else(|| said.strip_suffix(" left"))
        .unwrap_or(&said);
    if let Some(number) = said.strip_suffix('%') {
        let (number, rest) = split_number(number, Kind::Count).ok()?;
        let per_mille = number.scaled(10, 1, Rounding::HalfAway)?;
        let all = rest.is_empty() && per_mille <= WHOLE_PER_CENT.checked_mul(10)?;
        return all.then(|| Ratio::new(per_mille, 1_000))?;
    }
    let (number, rest) = split_number(said, Kind::Count).ok()?;
    // A whole number is a count of pieces, not a share.
    if !rest.is_empty() || number.whole().is_some() {
        return None;
    }
    let per_million = number.scaled(1_000_000, 1, Rounding::HalfAway)?;
    (per_million <= 1_000_000).then(|| Ratio::new(per_million, 1_000_000))?
}

#[cfg(test)]
mod tests {
    use super::parse_share;

    /// The share in thousandths, rounded down.
    fn permille(text: &str) -> Option<i64> {
        parse_share(text).map(|share| share.num() * 1_000 / share.den())
    }

    #[test]
    fn a_share_is_read_in_words_in_per_cent_and_as_a_fraction() {
        for (text, expected) in [
            ("full", 1_000),
            ("Half", 500),
            ("half full", 500),
            ("1/2", 500),
            ("½", 500),
            ("¾", 750),
            ("3/4 full", 750),
            ("three quarters", 750),
            ("a quarter", 250),
            ("60%", 600),
            ("12,5 %", 125),
            ("0.3", 300),
            ("empty", 0),
            ("1/3", 333),
        ] {
            assert_eq!(permille(text), Some(expected), "{text}");
        }
    }

    #[test]
    fn what_is_no_share_is_left_to_others() {
        for text in [
            "",
            "300 ml",
            "3",
            "1.5",
            "5/4",
            "120 %",
            "-1/2",
            "soon",
            "1/0",
            "half a bottle",
        ] {
            assert_eq!(permille(text), None, "{text}");
        }
    }
}
