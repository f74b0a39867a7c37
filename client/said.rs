//! How much there is of something, as people say it: pads with jobs behind them, bottles by how full they
//! are, bundles of towels, packs of what is counted or measured.
//!
//! It serves the questions of `start` and the rows of sheets, so that both understand the same. What is
//! unclear is refused with an example; nothing is guessed.

pub(crate) mod bottles;
pub(crate) mod currency;
pub(crate) mod packs;
pub(crate) mod pads;
pub(crate) mod price;

/// Most of anything in one answer, as the contract takes it.
const COUNT_MAX: i64 = 500;

/// Text as it is looked at: lower case, one blank between words, no mark of *about*.
fn plain(text: &str) -> String {
    let lower = text.to_lowercase().replace(['×', '*'], "x");
    let words = lower.split_whitespace().filter(|word| {
        !matches!(
            *word,
            "about" | "ca" | "ca." | "approx" | "approx." | "roughly" | "of" | "a" | "an" | "left"
        )
    });
    let joined = words.collect::<Vec<_>>().join(" ");
    joined.trim_start_matches(['~', '≈']).trim().to_owned()
}

/// Whether it says that there is none.
pub(crate) fn is_none(text: &str) -> bool {
    matches!(
        plain(text).as_str(),
        "0" | "no" | "none" | "-" | "—" | "–" | "nil" | "empty" | "0x" | "out"
    )
}

/// A whole number of things, within what one answer may hold.
fn count(text: &str) -> Option<i64> {
    let digits = text.trim();
    let is_number = !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit());
    let count = is_number.then(|| digits.parse().ok()).flatten();
    count.filter(|count| (0..=COUNT_MAX).contains(count))
}

/// A number of things before `x` and what they are, or a number before words: `2x half`, `3 full`.
fn times(text: &str) -> Option<(i64, &str)> {
    let end = text.find(|letter: char| !letter.is_ascii_digit())?;
    let (number, rest) = text.split_at_checked(end)?;
    let count = count(number)?;
    let rest = rest.trim_start();
    let rest = rest.strip_prefix('x').map_or_else(
        || rest.starts_with(char::is_alphabetic).then_some(rest),
        |rest| Some(rest.trim_start()),
    )?;
    (!rest.is_empty()).then_some((count, rest))
}
