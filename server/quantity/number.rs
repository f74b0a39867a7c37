//! Plain decimal numbers, read and scaled exactly.
//!
//! They serve the grammar only. A number is digits with at most one point: no sign, no exponent,
//! no comma, no other script's digits. Nothing here passes through floating point.

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

/// A non-negative decimal number: `mantissa` / 10^`decimals`.
#[derive(Clone, Copy)]
pub(crate) struct Decimal {
    mantissa: i128,
    decimals: u32,
}

impl Decimal {
    /// This number × `num` / `den`, rounded to whole units; `None` where it does not fit.
    pub(crate) fn scaled(self, num: i128, den: i128, rounding: Rounding) -> Option<i64> {
        let top = self.mantissa.checked_mul(num)?;
        let bottom = den.checked_mul(10_i128.checked_pow(self.decimals)?)?;
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
        if self.decimals == 0 {
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
    if text.contains(',') {
        return Err(comma(text, kind));
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
    let (whole, after_whole) = split_digits(text);
    let (decimals, rest) = match after_whole.strip_prefix('.') {
        Some(after_point) => {
            let (decimals, rest) = split_digits(after_point);
            if decimals.is_empty() {
                return Err(not_a_number());
            }
            (decimals, rest)
        }
        None => ("", after_whole),
    };
    if whole.is_empty() || rest.starts_with('.') {
        return Err(not_a_number());
    }
    if is_exponent(rest) {
        return Err(QuantityError::Exponent {
            text: excerpt(text),
            kind,
        });
    }
    let number = decimal(whole, decimals).ok_or_else(|| QuantityError::TooLarge {
        text: excerpt(text),
        kind,
    })?;
    Ok((number, rest.trim()))
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
