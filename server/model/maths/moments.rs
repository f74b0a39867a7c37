//! A figure that is not known for sure, by its mean and variance, and how such figures add up.

use crate::maths::credibility::Predicted;
use crate::maths::life::count_f64;

/// Mean and variance of a figure that is not below zero.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Moments {
    pub(crate) mean: f64,
    pub(crate) variance: f64,
}

impl Moments {
    /// Nothing, for sure.
    pub(crate) const NONE: Self = Self {
        mean: 0.0,
        variance: 0.0,
    };

    /// A figure that is known.
    #[must_use]
    pub(crate) const fn sure(mean: f64) -> Self {
        Self {
            mean,
            variance: 0.0,
        }
    }

    /// The sum with another that is independent of it.
    #[must_use]
    pub(crate) fn plus(self, other: Self) -> Self {
        Self {
            mean: self.mean + other.mean,
            variance: self.variance + other.variance,
        }
    }

    /// So many of it, each independent of the others; the number need not be whole.
    #[must_use]
    pub(crate) fn many(self, count: f64) -> Self {
        Self {
            mean: self.mean * count,
            variance: self.variance * count,
        }
    }

    /// The same in another unit, of which it is `factor`.
    #[must_use]
    pub(crate) fn scaled(self, factor: f64) -> Self {
        Self {
            mean: self.mean * factor,
            variance: self.variance * factor * factor,
        }
    }

    /// One of several that are as likely: the mean of their means, the mean of their variances and the
    /// variance of their means. Nothing where there is none.
    #[must_use]
    pub(crate) fn one_of(all: &[Self]) -> Self {
        if all.is_empty() {
            return Self::NONE;
        }
        let count = count_f64(all.len());
        let mean = all.iter().map(|one| one.mean).sum::<f64>() / count;
        let square = |one: &Self| one.variance + (one.mean - mean) * (one.mean - mean);
        Self {
            mean,
            variance: all.iter().map(square).sum::<f64>() / count,
        }
    }

    /// The value that it stays below with this probability, as of a gamma distribution.
    #[must_use]
    pub(crate) fn quantile(self, probability: f64) -> f64 {
        self.predicted().quantile(probability)
    }

    /// The gamma distribution that it is taken for.
    #[must_use]
    pub(crate) const fn predicted(self) -> Predicted {
        Predicted {
            mean: self.mean,
            variance: self.variance,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Moments;

    /// Source: the law of total variance, by hand: of 1 ± 1 and 3 ± 1 the mean is 2, the variance 1 + 1.
    #[test]
    fn one_of_several_varies_as_each_does_and_as_they_differ() {
        let one = Moments {
            mean: 1.0,
            variance: 1.0,
        };
        let other = Moments { mean: 3.0, ..one };
        let either = Moments::one_of(&[one, other]);
        assert_eq!((either.mean, either.variance), (2.0, 2.0));
        assert_eq!(Moments::one_of(&[]), Moments::NONE);
    }
}
