//! Decimal numbers as people write them, read and scaled exactly.
//!
//! They serve the grammar and money. A number has digits with a point or a comma before its decimals, or is a
//! fraction such as `1/2` or `½`: no sign, no exponent, no other script's digits. A comma before three digits
//! may stand for thousands or for decimals and is not taken for either. Nothing here passes through floating
//! point.

use crate::error::{QuantityError, excerpt};
use crate::kind::Kind;

/// More whole digits than this are above every limit of [`Kind`].
const MOST_WHOLE_DIGITS: usize = 12;
/// Decimals past these are dropped: the finest unit needs seven to round exactly.
const MOST_DECIMALS: usize = 12;

/// Which way a value between two whole units goes.
#[derive(Clone, Copy)]
pub(crate) enum Rounding {
    /// To the nearer, a half away from zero.
    HalfAway,
    /// Towards zero.
    Down,
}

/// A non-negative number: `mantissa` / (10^`decimals` × `parts`).
#[derive(Clone, Copy)]
pub(crate) struct Decimal {
    mantissa: i128,
    decimals: u32,
    parts: i128,
}

impl Decimal {
    /// This number × `num` / `den`, rounded to whole units; `None` where it does not fit.
    pub(crate) fn scaled(self, num: i128, den: i128, rounding: Rounding) -> Option<i64> {
        let top = self.mantissa.checked_mul(num)?;
        let parts = den.checked_mul(self.parts)?;
        let bottom = parts.checked_mul(10_i128.checked_pow(self.decimals)?)?;
        let whole = top.checked_div(bottom)?;
        let rest = top.checked_rem(bottom)?;
        let up = match rounding {
            Rounding::HalfAway => rest.checked_mul(2)? >= bottom,
            Rounding::Down => false,
        };
        i64::try_from(whole.checked_add(i128::from(up))?).ok()
    }

    /// The number itself where it was written without decimals.
    pub(crate) fn whole(self) -> Option<i64> {
        if self.decimals == 0 && self.parts == 1 {
            i64::try_from(self.mantissa).ok()
        } else {
            None
        }
    }
}

/// Splits a text into the number it begins with and what follows, spaces removed.
pub(crate) fn split_number(text: &str, kind: Kind) -> Result<(Decimal, &str), QuantityError> {
    let text = text.trim();
    if text.is_empty() {
        return Err(QuantityError::Empty { kind });
    }
    if text.starts_with(['-', '−']) {
        return Err(QuantityError::Negative {
            text: excerpt(text),
            kind,
        });
    }
    let not_a_number = || QuantityError::NotANumber {
        text: excerpt(text),
        kind,
    };
    if let Some((number, rest)) = fraction(text) {
        return Ok((number, rest.trim()));
    }
    let (numeral, rest) = split_numeral(text);
    if is_exponent(rest) {
        return Err(QuantityError::Exponent {
            text: excerpt(text),
            kind,
        });
    }
    let (whole, decimals) = match marks(numeral) {
        Marks::Plain { whole, decimals } => (whole, decimals),
        Marks::Unclear => return Err(comma(text, kind)),
        Marks::Wrong => return Err(not_a_number()),
    };
    let number = decimal(&whole, decimals).ok_or_else(|| QuantityError::TooLarge {
        text: excerpt(text),
        kind,
    })?;
    Ok((number, rest.trim()))
}

/// The digits with their marks that a text begins with, and what follows.
pub(crate) fn split_numeral(text: &str) -> (&str, &str) {
    let end = text
        .find(|c: char| !c.is_ascii_digit() && c != '.' && c != ',')
        .unwrap_or(text.len());
    text.split_at_checked(end).unwrap_or((text, ""))
}

/// What the points and commas of a number say.
pub(crate) enum Marks<'a> {
    /// These digits before and behind the decimal mark.
    Plain {
        /// Before it, without marks of thousands.
        whole: String,
        /// Behind it; empty without one.
        decimals: &'a str,
    },
    /// One comma before three digits: thousands or decimals.
    Unclear,
    /// No number.
    Wrong,
}

/// Digits of a group between marks of thousands.
const GROUP_DIGITS: usize = 3;

/// Reads points and commas: with both the last is the decimal mark, and the others stand between
/// thousands; several commas do too.
pub(crate) fn marks(numeral: &str) -> Marks<'_> {
    let last = numeral.rfind(['.', ',']);
    let Some((whole, decimals)) = last.and_then(|at| {
        let decimals = numeral.get(at.checked_add(1)?..)?;
        Some((numeral.get(..at)?, decimals))
    }) else {
        return plain(numeral, "");
    };
    if decimals.is_empty() {
        return Marks::Wrong;
    }
    let points = numeral.matches('.').count();
    let commas = numeral.matches(',').count();
    match (points, commas) {
        (1, 0) => plain(whole, decimals),
        // Nothing before it stands for no thousands.
        (0, 1) if decimals.len() == GROUP_DIGITS && !whole.starts_with('0') => Marks::Unclear,
        (0, 1) => plain(whole, decimals),
        (0, _) if grouped(numeral, ',') => plain(&numeral.replace(',', ""), ""),
        (1, _) if numeral.rfind('.') == last && grouped(whole, ',') => {
            plain(&whole.replace(',', ""), decimals)
        }
        (_, 1) if numeral.rfind(',') == last && grouped(whole, '.') => {
            plain(&whole.replace('.', ""), decimals)
        }
        _ => Marks::Wrong,
    }
}

fn plain<'a>(whole: &str, decimals: &'a str) -> Marks<'a> {
    let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    if whole.is_empty() || !digits(whole) || !digits(decimals) {
        return Marks::Wrong;
    }
    Marks::Plain {
        whole: whole.to_owned(),
        decimals,
    }
}

/// Whether marks stand between groups of three digits.
fn grouped(numeral: &str, mark: char) -> bool {
    let mut groups = numeral.split(mark);
    let first = groups.next().unwrap_or_default();
    (1..=GROUP_DIGITS).contains(&first.len()) && groups.all(|group| group.len() == GROUP_DIGITS)
}

/// A fraction that a text begins with: `1/2`, `½`.
fn fraction(text: &str) -> Option<(Decimal, &str)> {
    let signs = [
        ('½', (1, 2)),
        ('¼', (1, 4)),
        ('¾', (3, 4)),
        ('⅓', (1, 3)),
        ('⅔', (2, 3)),
    ];
    let of = |mantissa, parts| Decimal {
        mantissa,
        decimals: 0,
        parts,
    };
    if let Some((sign, (mantissa, parts))) = signs.iter().find(|(sign, _)| text.starts_with(*sign))
    {
        return Some((of(*mantissa, *parts), text.strip_prefix(*sign)?));
    }
    let (above, rest) = split_digits(text);
    let (below, rest) = split_digits(rest.strip_prefix('/')?);
    let small = |digits: &str| (digits.len() <= GROUP_DIGITS).then(|| digits.parse::<i128>().ok());
    let (above, below) = (small(above)??, small(below)??);
    (below > 0).then(|| (of(above, below), rest))
}

fn split_digits(text: &str) -> (&str, &str) {
    let end = text
        .find(|c: char| !c.is_ascii_digit())
        .unwrap_or(text.len());
    text.split_at_checked(end).unwrap_or((text, ""))
}

fn is_exponent(rest: &str) -> bool {
    rest.strip_prefix(['e', 'E']).is_some_and(|after| {
        after.starts_with(|c: char| c.is_ascii_digit() || c == '+' || c == '-')
    })
}

fn decimal(whole: &str, decimals: &str) -> Option<Decimal> {
    let whole = whole.trim_start_matches('0');
    let kept = decimals.get(..MOST_DECIMALS).unwrap_or(decimals);
    if whole.len() > MOST_WHOLE_DIGITS {
        return None;
    }
    let digits = format!("0{whole}{kept}");
    Some(Decimal {
        mantissa: digits.parse().ok()?,
        decimals: u32::try_from(kept.len()).ok()?,
        parts: 1,
    })
}

fn comma(text: &str, kind: Kind) -> QuantityError {
    QuantityError::Comma {
        text: excerpt(text),
        joined: excerpt(&text.replace(',', "")),
        pointed: excerpt(&text.replace(',', ".")),
        kind,
    }
}
