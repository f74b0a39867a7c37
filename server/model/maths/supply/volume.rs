//! Demand for a liquid over a stretch of time, as a gamma distribution.
//!
//! It serves the level of bottles, in any unit of volume. Demand is never below zero and is skewed to
//! more, as with the use of one job ([`Predicted`]).

use super::SupplyError;
use super::error::{at_least_zero, held, share};
use crate::maths::credibility::Predicted;

/// Demand for a volume by its moments.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct VolumeDemand {
    gamma: Predicted,
}

impl VolumeDemand {
    /// No demand.
    pub(crate) const NONE: Self = Self {
        gamma: Predicted {
            mean: 0.0,
            variance: 0.0,
        },
    };

    /// Demand of this mean and variance; without a variance it is certain.
    ///
    /// # Errors
    /// When a figure is below zero or no number, or there is a variance without any mean.
    pub(crate) fn new(mean: f64, variance: f64) -> Result<Self, SupplyError> {
        let mean = at_least_zero(mean, "The mean demand")?;
        let variance = at_least_zero(variance, "The variance of the demand")?;
        if mean <= 0.0 && variance > 0.0 {
            return Err(SupplyError::NotPositive {
                what: "The mean demand, where it varies,",
            });
        }
        Ok(Self {
            gamma: Predicted { mean, variance },
        })
    }

    /// Mean.
    #[must_use]
    pub(crate) const fn mean(&self) -> f64 {
        self.gamma.mean
    }

    /// Variance.
    #[must_use]
    pub(crate) const fn variance(&self) -> f64 {
        self.gamma.variance
    }

    /// Demand for this and another, independent of it, by the sums of their moments.
    ///
    /// # Errors
    /// When a sum is beyond the largest number.
    pub(crate) fn plus(&self, other: &Self) -> Result<Self, SupplyError> {
        Self::new(
            held(self.mean() + other.mean(), "The mean demand")?,
            held(
                self.variance() + other.variance(),
                "The variance of the demand",
            )?,
        )
    }

    /// The stock that suffices with probability `target`: the quantile of a gamma with shape
    /// mean²/variance and scale variance/mean.
    ///
    /// # Errors
    /// Unless 0 < `target` < 1, or when the result is beyond the largest number.
    pub(crate) fn level(&self, target: f64) -> Result<f64, SupplyError> {
        let target = share(target, "The target")?;
        held(self.gamma.quantile(target), "The stock to keep")
    }
}

#[cfg(test)]
mod tests {
    use super::VolumeDemand;

    /// Source: scipy 1.17, `gamma.ppf`.
    #[test]
    fn levels_agree_with_a_reference() {
        for (mean, variance, target, level) in [
            (50.0, 2500.0, 0.95, 149.786613677699),
            (120.0, 900.0, 0.99, 200.571644385883),
            (300.0, 250000.0, 0.9, 862.513604223851),
            (40.0, 16.0, 0.999, 53.508105564551),
        ] {
            let demand = VolumeDemand::new(mean, variance).unwrap();
            let ours = demand.level(target).unwrap();
            assert!((ours / level - 1.0).abs() < 1e-9, "{ours}, not {level}");
        }
    }

    #[test]
    fn a_demand_without_spread_is_certain() {
        let certain = VolumeDemand::new(80.0, 0.0).unwrap();
        assert_eq!(certain.level(0.99), Ok(80.0));
        assert_eq!(VolumeDemand::NONE.level(0.99), Ok(0.0));
    }

    #[test]
    fn figures_that_are_none_are_refused() {
        for (mean, variance) in [(-1.0, 1.0), (1.0, -1.0), (f64::NAN, 1.0), (0.0, 1.0)] {
            assert!(VolumeDemand::new(mean, variance).is_err());
        }
        let most = VolumeDemand::new(f64::MAX, 1.0).unwrap();
        assert!(most.plus(&most).is_err());
        let demand = VolumeDemand::new(1.0, 1.0).unwrap();
        assert!(demand.level(1.0).is_err() && demand.level(f64::NAN).is_err());
    }
}
