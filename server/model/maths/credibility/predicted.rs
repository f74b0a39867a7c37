//! What one job will use, as a gamma distribution.
//!
//! It serves the check, which asks whether a bottle suffices, and the quote. A use is never below
//! zero and is skewed to more; a normal distribution would promise bottles that give back.

use crate::maths::chance::gamma::{Tail, below, ln_quantile};

/// A job's use by its mean and variance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Predicted {
    /// The mean, in the caller's unit.
    pub mean: f64,
    /// The variance, in that unit squared.
    pub variance: f64,
}

impl Predicted {
    /// The use that is not exceeded with probability `p`: the quantile of a gamma distribution with
    /// shape mean²/variance and scale variance/mean.
    ///
    /// 0 at p ≤ 0, infinite at p ≥ 1 or where a figure is not finite.
    #[must_use]
    pub(crate) fn quantile(&self, p: f64) -> f64 {
        if p.is_nan() || p >= 1.0 || !self.is_known() {
            return f64::INFINITY;
        }
        if p <= 0.0 {
            return 0.0;
        }
        self.gamma().map_or(self.mean.max(0.0), |(shape, scale)| {
            let tail = if p > 0.5 {
                Tail::Above(1.0 - p)
            } else {
                Tail::Below(p)
            };
            (ln_quantile(shape, tail) + scale.ln()).exp()
        })
    }

    /// Probability that the job uses at most `amount`; 0 where the mean or the
    /// variance is not finite, or `amount` no number.
    #[must_use]
    pub(crate) fn at_most(&self, amount: f64) -> f64 {
        if amount.is_nan() || !self.is_known() {
            return 0.0;
        }
        match self.gamma() {
            Some((shape, scale)) => below(shape, amount / scale),
            None if amount >= self.mean.max(0.0) => 1.0,
            None => 0.0,
        }
    }

    fn is_known(&self) -> bool {
        self.mean.is_finite() && self.variance.is_finite()
    }

    /// Shape and scale; `None` where there is no spread to speak of, so that the mean is certain.
    fn gamma(&self) -> Option<(f64, f64)> {
        let shape = (self.mean / self.variance.sqrt()).powi(2);
        let scale = self.variance / self.mean;
        let usable = |figure: f64| figure.is_finite() && figure > 0.0;
        (usable(self.mean) && usable(self.variance) && usable(shape) && usable(scale))
            .then_some((shape, scale))
    }
}

#[cfg(test)]
mod tests {
    use super::Predicted;

    /// Source: the exponential distribution, a gamma of shape 1: quantile −m ln(1 − p).
    #[test]
    fn with_a_spread_as_large_as_the_mean_the_use_is_exponential() {
        let job = Predicted {
            mean: 50.0,
            variance: 2500.0,
        };
        for p in [1e-6, 0.1, 0.5, 0.9, 0.999_999] {
            let exact = -50.0 * f64::ln_1p(-p);
            assert!((job.quantile(p) / exact - 1.0).abs() < 1e-12, "{p}");
            assert!((job.at_most(exact) - p).abs() < 1e-14, "{p}");
        }
    }

    #[test]
    fn without_spread_the_mean_is_certain() {
        let job = Predicted {
            mean: 50.0,
            variance: 0.0,
        };
        assert_eq!(job.quantile(0.9), 50.0);
        assert_eq!((job.at_most(49.9), job.at_most(50.0)), (0.0, 1.0));
        let nothing = Predicted {
            mean: 0.0,
            variance: 0.0,
        };
        assert_eq!((nothing.quantile(0.9), nothing.at_most(0.0)), (0.0, 1.0));
    }

    #[test]
    fn figures_that_are_not_finite_promise_nothing() {
        let job = Predicted {
            mean: f64::NAN,
            variance: 1.0,
        };
        assert_eq!((job.quantile(0.5), job.at_most(1.0)), (f64::INFINITY, 0.0));
        let job = Predicted {
            mean: 1.0,
            variance: f64::INFINITY,
        };
        assert_eq!((job.quantile(0.5), job.at_most(9.0)), (f64::INFINITY, 0.0));
        let job = Predicted {
            mean: 1.0,
            variance: 1.0,
        };
        assert_eq!((job.quantile(0.0), job.quantile(1.0)), (0.0, f64::INFINITY));
        assert_eq!((job.at_most(-1.0), job.at_most(f64::INFINITY)), (0.0, 1.0));
    }
}
