//! Whether a plate goes with a pad and with a machine.
//!
//! It serves the check, where a plate slower than its machine is a refusal. It judges figures that
//! people marked; it never replaces the markings on plate and machine.

use std::fmt;
use std::str::FromStr;

use fettlebook_quantity::Length;
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// By how much a pad should be wider than its plate, in mm.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct MarginLimits {
    /// Least margin at which a pad goes on the plate at all.
    pub least_mm: i64,
    /// Margin below which the plate's edge can reach the paint.
    pub close_mm: i64,
    /// Least margin that is usual.
    pub ideal_least_mm: i64,
    /// Largest margin that is usual.
    pub ideal_most_mm: i64,
    /// Largest margin that still carries the pad's edge.
    pub most_mm: i64,
}

impl Default for MarginLimits {
    /// 0–40 mm, watched below 4, usually 5–25. Basis: common practice, no source.
    fn default() -> Self {
        Self {
            least_mm: 0,
            close_mm: 4,
            ideal_least_mm: 5,
            ideal_most_mm: 25,
            most_mm: 40,
        }
    }
}

/// How a pad sits on a plate; the length is by how much the pad is wider (below zero: narrower).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum PlateFit {
    /// As it should be.
    Ideal,
    /// Usable.
    Fits,
    /// Usable with care: the plate's edge can reach the paint.
    Close(Length),
    /// The pad is narrower than the plate, or than the book allows: the plate's edge would reach the
    /// paint.
    TooNarrow(Length),
    /// The pad is too wide: the plate does not carry its edge.
    TooWide(Length),
}

impl MarginLimits {
    /// How a pad of `pad_face` sits on a plate of `plate_diameter`.
    #[must_use]
    pub(crate) fn fit(self, pad_face: Length, plate_diameter: Length) -> PlateFit {
        let wider = pad_face.saturating_sub(plate_diameter);
        let mm = wider.mm();
        if mm < self.least_mm {
            PlateFit::TooNarrow(wider)
        } else if mm > self.most_mm {
            PlateFit::TooWide(wider)
        } else if mm < self.close_mm {
            PlateFit::Close(wider)
        } else if mm >= self.ideal_least_mm && mm <= self.ideal_most_mm {
            PlateFit::Ideal
        } else {
            PlateFit::Fits
        }
    }
}

/// Whether a plate may run on a machine; speeds per minute.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum SpeedFit {
    /// The plate is rated for the machine's highest marked speed.
    Within,
    /// The plate's rating is not known: look at its marking before use.
    Unknown,
    /// The machine can turn faster than the plate is rated for: do not use them together.
    Refused {
        /// Rated speed of the plate.
        rated: i64,
        /// Highest marked speed of the machine.
        max: i64,
    },
}

/// Whether a plate's rated speed reaches the machine's highest marked speed, both per minute.
///
/// The highest *marked* speed counts, not the one set. Basis: IEC 62841-2-3 and -2-4, ISO 11148-8:
/// an accessory's rated speed is at least the maximum speed marked on the tool.
#[must_use]
pub(crate) const fn speed_verdict(rated: Option<i64>, machine_max: i64) -> SpeedFit {
    match rated {
        None => SpeedFit::Unknown,
        Some(rated) if rated >= machine_max => SpeedFit::Within,
        Some(rated) => SpeedFit::Refused {
            rated,
            max: machine_max,
        },
    }
}

/// A spindle thread as marked, in capitals without spaces: `M14`, `5/8-11`; or that there is none, as where a
/// plate is screwed or clipped on by other means.
///
/// None is kept as `0`, which is no marking: programs that do not know of it read it as a thread that nothing but
/// another without one has, which comes to the same.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Thread(String);

/// Why a thread is refused.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error(
    "a thread is 1 to 12 letters, digits, '/', '-' or '.', with a digit among them; write for \
     example M8, M14 or 5/8-11, or none where there is none"
)]
pub struct ThreadError;

impl Thread {
    const LONGEST_CHARS: usize = 12;
    /// What is kept where there is none.
    const NONE_KEPT: &str = "0";
    /// What is read and shown where there is none.
    const NONE: &str = "none";

    /// Whether there is none, so that it does not tell what belongs together.
    pub(crate) fn is_none(&self) -> bool {
        self.0 == Self::NONE_KEPT
    }
}

impl FromStr for Thread {
    type Err = ThreadError;

    fn from_str(text: &str) -> Result<Self, ThreadError> {
        let marked = text
            .split_whitespace()
            .collect::<String>()
            .to_ascii_uppercase();
        if marked.eq_ignore_ascii_case(Self::NONE) {
            return Ok(Self(Self::NONE_KEPT.to_owned()));
        }
        let known = |c: char| c.is_ascii_alphanumeric() || matches!(c, '/' | '-' | '.');
        let plain = marked.chars().all(known) && marked.contains(|c: char| c.is_ascii_digit());
        if plain && marked.len() <= Self::LONGEST_CHARS {
            Ok(Self(marked))
        } else {
            Err(ThreadError)
        }
    }
}

impl TryFrom<String> for Thread {
    type Error = ThreadError;

    fn try_from(text: String) -> Result<Self, ThreadError> {
        text.parse()
    }
}

impl From<Thread> for String {
    fn from(thread: Thread) -> Self {
        thread.0
    }
}

impl fmt::Display for Thread {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(if self.is_none() { Self::NONE } else { &self.0 })
    }
}

#[cfg(test)]
mod tests {
    use fettlebook_quantity::Length;

    use super::{MarginLimits, PlateFit, SpeedFit, Thread, speed_verdict};

    fn fit_mm(pad_mm: i64, plate_mm: i64) -> PlateFit {
        MarginLimits::default().fit(Length::from_mm(pad_mm), Length::from_mm(plate_mm))
    }

    /// Basis: common practice, no source: 0–40 mm wider, watched below 4, usually 5–25.
    #[test]
    fn a_pad_is_wider_than_its_plate_by_the_right_margin() {
        assert_eq!(
            (fit_mm(130, 125), fit_mm(150, 125)),
            (PlateFit::Ideal, PlateFit::Ideal)
        );
        assert_eq!(
            (fit_mm(129, 125), fit_mm(151, 125)),
            (PlateFit::Fits, PlateFit::Fits)
        );
        assert_eq!(fit_mm(165, 125), PlateFit::Fits);
        assert_eq!(fit_mm(166, 125), PlateFit::TooWide(Length::from_mm(41)));
        assert_eq!(fit_mm(128, 125), PlateFit::Close(Length::from_mm(3)));
        assert_eq!(fit_mm(125, 125), PlateFit::Close(Length::from_mm(0)));
        assert_eq!(fit_mm(124, 125), PlateFit::TooNarrow(Length::from_mm(-1)));
        assert_eq!(fit_mm(80, 125), PlateFit::TooNarrow(Length::from_mm(-45)));
    }

    /// Source: IEC 62841-2-3, -2-4 and ISO 11148-8: rated speed of the accessory at least the
    /// maximum marked on the tool.
    #[test]
    fn a_plate_slower_than_the_machine_is_refused() {
        assert_eq!(speed_verdict(Some(5_000), 5_000), SpeedFit::Within);
        let refused = SpeedFit::Refused {
            rated: 4_999,
            max: 5_000,
        };
        assert_eq!(speed_verdict(Some(4_999), 5_000), refused);
        assert_eq!(speed_verdict(None, 5_000), SpeedFit::Unknown);
    }

    #[test]
    fn threads_compare_however_they_were_typed() {
        let read = |text: &str| text.parse::<Thread>().map(|thread| thread.to_string());
        assert_eq!(read(" m 8 "), Ok("M8".to_owned()));
        assert_eq!(read("5/8-11"), Ok("5/8-11".to_owned()));
        for text in ["", "  ", "M", "M14;", "M14 M14 M14 M14 M", "Ⅷ8"] {
            assert!(read(text).is_err(), "{text}");
        }
    }

    #[test]
    fn no_thread_is_read_by_its_word_and_kept_as_programs_before_can_read_it() {
        let none: Thread = " None ".parse().unwrap();
        assert!(none.is_none() && !"M8".parse::<Thread>().unwrap().is_none());
        assert_eq!(none.to_string(), "none");
        assert_eq!(serde_json::to_string(&none).unwrap(), "\"0\"");
        assert_eq!(serde_json::from_str::<Thread>("\"0\"").unwrap(), none);
    }
}
