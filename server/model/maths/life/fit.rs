//! The Weibull life that fits best: maximum likelihood with lives that were cut off.
//!
//! It serves a make with ten or more failures; with fewer the shape stays fixed and the beliefs
//! answer alone. Where no finite maximum exists it refuses and says why: it never returns the edge
//! of a search.

use super::{LifeError, Lives, positive, usable_shape};
use crate::maths::root::root;

/// The normal deviate of a central 95 % interval.
const DEVIATE_95: f64 = 1.959_963_984_540_054;
/// Doublings of the shape from its least possible value; past them no number is left.
const DOUBLINGS_MAX: usize = 2_100;

/// Two ends of an interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// The lower end.
    pub lower: f64,
    /// The upper end; infinite where it is beyond the largest number.
    pub upper: f64,
}

/// A fitted Weibull life with its uncertainty.
///
/// The standard error is from the observed information at the maximum, in shape and scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WeibullFit {
    /// The shape β: above 1 it wears out.
    pub shape: f64,
    /// The scale η, in the unit of the ages.
    pub scale: f64,
    /// Standard error of the shape.
    pub se_shape: f64,
    /// Failures it rests on.
    pub failures: usize,
    /// The same, each counted by its weight.
    pub failure_weight: f64,
}

impl WeibullFit {
    /// 95 % limits about a shape that stands for the fit's, symmetric in its logarithm: β exp(± 1.96 se/β),
    /// where se/β is the fit's. The fit's own shape is one; one without its bias is another.
    #[must_use]
    pub(crate) fn limits_about(&self, shape: f64) -> Limits {
        let reach = DEVIATE_95 * self.se_shape / self.shape;
        Limits {
            lower: (shape.ln() - reach).exp(),
            upper: (shape.ln() + reach).exp(),
        }
    }
}

/// Fits shape and scale to lives of which some were cut off.
///
/// Formula: with r failures, η^β = Σ t^β / r over all lives, and β is the root of
/// Σ t^β ln t / Σ t^β − 1/β − mean of ln t over failures, which grows with β and has one root exactly
/// if a failure lies below the largest age. Where lives have weights, each sum and mean is weighted and
/// r is the weight of the failures. Ages are measured by the largest one and kept as
/// logarithms, so no age is too small or too large. Source: W. Q. Meeker and L. A. Escobar,
/// *Statistical Methods for Reliability Data* (1998), ch. 8.
///
/// # Errors
/// [`LifeError::NoFailures`], [`LifeError::ZeroFailure`], [`LifeError::NoFailureBelowLargest`], or
/// [`LifeError::BeyondNumbers`] where the best scale cannot be held.
pub fn fit_weibull(lives: &Lives) -> Result<WeibullFit, LifeError> {
    let ages = RelativeAges::new(lives)?;
    let shape = ages.best_shape()?;
    let at = ages.sums_at(shape);
    let failures = lives.failure_weight();
    // ln of η relative to the largest age.
    let ln_relative_scale = (at.sum / failures).ln() / shape;
    let scale = (ages.ln_largest + ln_relative_scale).exp();
    usable_shape(shape).map_err(|_| beyond("the shape"))?;
    positive(scale, "the scale").map_err(|_| beyond("the scale"))?;

    // In (β, ln η), with z = ln(t/η) and weights t^β / η^β that add up to r, the information is
    // [r/β² + Σwz², −βΣwz; −βΣwz, β²r]; written with the weighted variance of z its determinant has no
    // cancellation.
    let spread = 1.0 / (shape * shape) + at.variance;
    Ok(WeibullFit {
        shape,
        scale,
        se_shape: (1.0 / (failures * spread)).sqrt(),
        failures: lives.failures(),
        failure_weight: failures,
    })
}

const fn beyond(what: &'static str) -> LifeError {
    LifeError::BeyondNumbers { what }
}

/// Logarithms of the ages relative to the largest one, at most zero, each with its weight.
struct RelativeAges {
    ln_largest: f64,
    all: Vec<(f64, f64)>,
    mean_failed: f64,
}

/// Sums over all lives at one shape, weighted by (age / largest)^shape.
struct SumsAt {
    sum: f64,
    variance: f64,
}

impl RelativeAges {
    fn new(lives: &Lives) -> Result<Self, LifeError> {
        if lives.failures() == 0 {
            return Err(LifeError::NoFailures);
        }
        let at_zero = |life: &super::Life| life.failed && life.age <= 0.0;
        if let Some(index) = lives.iter().position(at_zero) {
            return Err(LifeError::ZeroFailure { index });
        }
        let largest = lives.iter().map(|life| life.age).fold(0.0, f64::max);
        // A life cut off at zero says nothing and has no logarithm.
        let told = lives.iter().filter(|life| life.age > 0.0);
        let all = told
            .map(|life| (ln_ratio(life.age, largest), life.weight))
            .collect();
        let failed = lives.iter().filter(|life| life.failed);
        let sum_failed: f64 = failed
            .map(|life| life.weight * ln_ratio(life.age, largest))
            .sum();
        let mean_failed = sum_failed / lives.failure_weight();
        Ok(Self {
            ln_largest: largest.ln(),
            all,
            mean_failed,
        })
    }

    /// The root of the profile equation. It is at least 1 / −(mean of the failures' logarithms),
    /// because the weighted mean is at most zero.
    fn best_shape(&self) -> Result<f64, LifeError> {
        if self.mean_failed >= 0.0 {
            return Err(LifeError::NoFailureBelowLargest);
        }
        let slope = |shape: f64| self.weighted_mean(shape) - 1.0 / shape - self.mean_failed;
        let least = -1.0 / self.mean_failed;
        let mut most = least;
        for _ in 0..DOUBLINGS_MAX {
            most *= 2.0;
            if slope(most) > 0.0 {
                let (low, high) = (least.ln(), most.ln());
                let scaled = |ln_shape: f64| slope(ln_shape.exp()) * ln_shape.exp();
                let found = root(scaled, low, high).ok_or(beyond("the shape"))?;
                return Ok(found.exp());
            }
        }
        Err(beyond("the shape"))
    }

    fn weighted_mean(&self, shape: f64) -> f64 {
        let (mut sum, mut weighted) = (0.0, 0.0);
        for (u, counts) in &self.all {
            let weight = counts * (shape * u).exp();
            sum += weight;
            weighted += weight * u;
        }
        weighted / sum
    }

    fn sums_at(&self, shape: f64) -> SumsAt {
        let weighted = || {
            let all = self.all.iter();
            all.map(|(u, counts)| (counts * (shape * u).exp(), u))
        };
        let sum: f64 = weighted().map(|(weight, _)| weight).sum();
        let mean = weighted().map(|(weight, u)| weight * u).sum::<f64>() / sum;
        let squares = weighted().map(|(weight, u)| weight * (u - mean) * (u - mean));
        SumsAt {
            sum,
            variance: squares.sum::<f64>() / sum,
        }
    }
}

/// ln(age / largest), exact to the last digits also where the two nearly agree.
fn ln_ratio(age: f64, largest: f64) -> f64 {
    if age > largest / 2.0 {
        ((age - largest) / largest).ln_1p()
    } else {
        age.ln() - largest.ln()
    }
}

#[cfg(test)]
mod tests {
    use super::fit_weibull;
    use crate::maths::life::{Life, LifeError, Lives};

    fn fit(lives: &[Life]) -> Result<super::WeibullFit, LifeError> {
        fit_weibull(&Lives::new(lives.to_vec()).unwrap())
    }

    #[test]
    fn what_cannot_be_fitted_is_refused_with_its_reason() {
        assert_eq!(fit(&[]), Err(LifeError::NoFailures));
        assert_eq!(fit(&[Life::cut_off(1.0)]), Err(LifeError::NoFailures));
        let at_zero = [Life::cut_off(1.0), Life::failed(0.0)];
        assert_eq!(fit(&at_zero), Err(LifeError::ZeroFailure { index: 1 }));
        let alike = [Life::failed(1.0); 12];
        assert_eq!(fit(&alike), Err(LifeError::NoFailureBelowLargest));
    }

    /// Their logarithms are equal in floating point; their ratio is not.
    #[test]
    fn failures_that_differ_in_the_last_digit_are_told_apart() {
        let almost = 1e300 * (1.0 - f64::EPSILON);
        let found = fit(&[Life::failed(1e300), Life::failed(almost)]).unwrap();
        assert!(found.shape > 1e15 && found.shape.is_finite(), "{found:?}");
    }

    #[test]
    fn a_life_cut_off_at_zero_says_nothing() {
        let lives = [Life::failed(0.8), Life::failed(1.1), Life::cut_off(1.0)];
        let found = fit(&lives).unwrap();
        let with_zero = fit(&[&lives[..], &[Life::cut_off(0.0)]].concat()).unwrap();
        assert_eq!(
            (found.shape, found.scale),
            (with_zero.shape, with_zero.scale)
        );
    }
}
