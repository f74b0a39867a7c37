//! Lives: how far pads went before they failed or left for another reason, and what that teaches.
//!
//! It serves the check and the shelf, which ask how much longer a pad will last. An age may be in
//! any unit; the book gives damage. Nothing here may panic, or give an answer that is no number:
//! lives that teach nothing are refused with the reason.

pub mod belief;
pub mod change;
pub mod curve;
pub mod fit;
mod logs;
pub mod prior;

pub use belief::Belief;
pub(crate) use change::newer_last_shorter;
pub use curve::CurvePoint;
pub(crate) use curve::kaplan_meier;
pub use fit::fit_weibull;
pub use fit::{Limits, WeibullFit};
pub(crate) use logs::ln_rise;
pub use prior::Prior;

use fettlebook_quantity::exact_f64;

/// One life: its age at the end, and how it ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Life {
    /// Age at the end, in damage or any other unit that only grows.
    pub age: f64,
    /// Whether it ended in failure; otherwise it was cut off while it still lasted.
    pub failed: bool,
    /// How much it counts beside the others: 1 for one of today, less for one that has faded.
    pub weight: f64,
}

impl Life {
    /// A life of full weight.
    pub const fn whole(age: f64, failed: bool) -> Self {
        Self {
            age,
            failed,
            weight: 1.0,
        }
    }
}

#[cfg(test)]
impl Life {
    /// A life that ended in failure.
    pub(crate) const fn failed(age: f64) -> Self {
        Self::whole(age, true)
    }

    /// A life that was cut off: still in service, lost, sold.
    pub(crate) const fn cut_off(age: f64) -> Self {
        Self::whole(age, false)
    }
}

/// Lives that were checked: every age is finite and at least zero, every weight above zero and at most
/// one.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Lives {
    lives: Vec<Life>,
    failures: usize,
}

impl Lives {
    /// Lives in any order; none at all is allowed.
    ///
    /// # Errors
    /// [`LifeError::NotANumber`], [`LifeError::Infinite`] or [`LifeError::Negative`] for the first
    /// age that is one, [`LifeError::Weight`] for the first weight that is none.
    pub fn new(lives: Vec<Life>) -> Result<Self, LifeError> {
        for (index, life) in lives.iter().enumerate() {
            if life.age.is_nan() {
                return Err(LifeError::NotANumber { index });
            }
            if life.age.is_infinite() {
                return Err(LifeError::Infinite { index });
            }
            if life.age < 0.0 {
                return Err(LifeError::Negative { index });
            }
            if life.weight.is_nan() || life.weight <= 0.0 || life.weight > 1.0 {
                return Err(LifeError::Weight { index });
            }
        }
        let failures = lives.iter().filter(|life| life.failed).count();
        Ok(Self { lives, failures })
    }

    /// How many ended in failure.
    #[must_use]
    pub const fn failures(&self) -> usize {
        self.failures
    }

    /// How many ended in failure, each counted by its weight.
    #[must_use]
    pub(crate) fn failure_weight(&self) -> f64 {
        let failed = self.lives.iter().filter(|life| life.failed);
        failed.map(|life| life.weight).sum()
    }

    /// Whether any of them has faded: counts less than a life of today.
    #[must_use]
    pub fn is_faded(&self) -> bool {
        self.lives.iter().any(|life| life.weight < 1.0)
    }

    /// How many there are.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.lives.len()
    }

    /// Whether there are none.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.lives.is_empty()
    }

    /// The lives, in the order given.
    pub fn iter(&self) -> std::slice::Iter<'_, Life> {
        self.lives.iter()
    }
}

impl<'a> IntoIterator for &'a Lives {
    type Item = &'a Life;
    type IntoIter = std::slice::Iter<'a, Life>;

    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

/// Why lives, or what was asked of them, give no answer. Lives are numbered from 1 in the words.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LifeError {
    /// An age is no number.
    #[error("the age of life {} is no number; give how far it went", .index.saturating_add(1))]
    NotANumber {
        /// Its place in the list, from zero.
        index: usize,
    },
    /// An age is below zero.
    #[error("the age of life {} is below zero; a life only grows", .index.saturating_add(1))]
    Negative {
        /// Its place in the list, from zero.
        index: usize,
    },
    /// An age is infinite.
    #[error("the age of life {} is endless; a life still running ends at its age today", .index.saturating_add(1))]
    Infinite {
        /// Its place in the list, from zero.
        index: usize,
    },
    /// A weight is no number above zero and at most one.
    #[error("life {} counts neither in part nor in full; give it a weight above 0 and at most 1", .index.saturating_add(1))]
    Weight {
        /// Its place in the list, from zero.
        index: usize,
    },
    /// A failure at age zero has no logarithm.
    #[error("life {} failed at age zero, which no shape explains; leave it out or give its age", .index.saturating_add(1))]
    ZeroFailure {
        /// Its place in the list, from zero.
        index: usize,
    },
    /// Nothing failed.
    #[error(
        "no life ended in failure, so a fit has nothing to go by; use the rating until one has"
    )]
    NoFailures,
    /// Every failure is at the largest age, so the likelihood grows with the shape for ever.
    #[error(
        "no failure lies below the largest age, so no finite shape fits best; \
         keep the fixed shape until one has"
    )]
    NoFailureBelowLargest,
    /// A figure must be above zero and finite.
    #[error("{what} must be a number above zero; give one")]
    NotPositive {
        /// Which figure.
        what: &'static str,
    },
    /// The typical life is not above the least one, or they are too close or too far apart.
    #[error(
        "no belief has these two lives; the typical life must be above the least one, \
         and neither nearly equal to it nor out of all proportion"
    )]
    LivesDoNotFit,
    /// A result lies beyond the numbers a computer holds.
    #[error("{what} lies beyond the numbers that can be held; look for a mistyped figure")]
    BeyondNumbers {
        /// Which figure.
        what: &'static str,
    },
}

/// The figure itself where it is finite and above zero.
pub(crate) fn positive(figure: f64, what: &'static str) -> Result<f64, LifeError> {
    if figure.is_finite() && figure > 0.0 {
        Ok(figure)
    } else {
        Err(LifeError::NotPositive { what })
    }
}

/// The largest shape taken: times the logarithm of any age it is still a number.
const SHAPE_MOST: f64 = 1e300;

/// The shape itself where it is above zero and not beyond use.
pub(crate) fn usable_shape(shape: f64) -> Result<f64, LifeError> {
    let what = "the shape";
    if positive(shape, what)? <= SHAPE_MOST {
        Ok(shape)
    } else {
        Err(LifeError::BeyondNumbers { what })
    }
}

/// A count as a floating-point number; exact below 2⁵³.
pub(crate) fn count_f64(count: usize) -> f64 {
    exact_f64(i64::try_from(count).unwrap_or(i64::MAX))
}
