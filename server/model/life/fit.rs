//! The Weibull life that fits best: maximum likelihood with lives that were cut off.
//!
//! It serves a make with ten or more failures; with fewer the shape stays fixed and the beliefs
//! answer alone. Where no finite maximum exists it refuses and says why: it never returns the edge
//! of a search.

use super::{LifeError, Lives, Weibull, count_f64};
use crate::root::root;

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
/// Standard errors are from the observed information at the maximum, in shape and scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WeibullFit {
    /// The shape β: above 1 it wears out.
    pub shape: f64,
    /// The scale η, in the unit of the ages.
    pub scale: f64,
    /// The logarithm of the likelihood at the maximum.
    pub log_likelihood: f64,
    /// Standard error of the shape.
    pub se_shape: f64,
    /// Standard error of the scale; infinite where it is beyond the largest number.
    pub se_scale: f64,
    /// Covariance of shape and scale.
    pub covariance: f64,
    /// Failures it rests on.
    pub failures: usize,
    /// Lives it rests on, failures included.
    pub lives: usize,
    life: Weibull,
    relative_se_scale: f64,
}

impl WeibullFit {
    /// The fitted life itself.
    #[must_use]
    pub const fn life(&self) -> Weibull {
        self.life
    }

    /// 95 % limits of the shape, symmetric in its logarithm: β exp(± 1.96 se/β).
    #[must_use]
    pub fn shape_limits_log(&self) -> Limits {
        log_limits(self.shape, self.se_shape / self.shape)
    }

    /// 95 % limits of the scale, symmetric in its logarithm: η exp(± 1.96 se/η).
    #[must_use]
    pub fn scale_limits_log(&self) -> Limits {
        log_limits(self.scale, self.relative_se_scale)
    }

    /// 95 % limits of the shape, symmetric in itself; the lower one may be below zero.
    #[must_use]
    pub fn shape_limits_normal(&self) -> Limits {
        normal_limits(self.shape, self.se_shape)
    }

    /// 95 % limits of the scale, symmetric in itself; the lower one may be below zero.
    #[must_use]
    pub fn scale_limits_normal(&self) -> Limits {
        normal_limits(self.scale, self.se_scale)
    }

    /// The age that a share `survival` outlives; see [`Weibull::life_at_survival`].
    ///
    /// # Errors
    /// [`LifeError::NotAShare`] unless 0 < `survival` < 1.
    pub fn life_at_survival(&self, survival: f64) -> Result<f64, LifeError> {
        self.life.life_at_survival(survival)
    }

    /// The mean life; infinite where it is beyond the largest number.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.life.mean()
    }
}

fn log_limits(figure: f64, relative_se: f64) -> Limits {
    let reach = DEVIATE_95 * relative_se;
    Limits {
        lower: (figure.ln() - reach).exp(),
        upper: (figure.ln() + reach).exp(),
    }
}

fn normal_limits(figure: f64, se: f64) -> Limits {
    Limits {
        lower: figure - DEVIATE_95 * se,
        upper: figure + DEVIATE_95 * se,
    }
}

/// Fits shape and scale to lives of which some were cut off.
///
/// Formula: with r failures, η^β = Σ t^β / r over all lives, and β is the root of
/// Σ t^β ln t / Σ t^β − 1/β − mean of ln t over failures, which grows with β and has one root exactly
/// if a failure lies below the largest age. Ages are measured by the largest one and kept as
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
    let failures = count_f64(lives.failures());
    // ln of η relative to the largest age.
    let ln_relative_scale = (at.sum / failures).ln() / shape;
    let scale = (ages.ln_largest + ln_relative_scale).exp();
    let life = Weibull::new(shape, scale).map_err(|_| beyond("the scale"))?;

    // In (β, ln η), with z = ln(t/η) and weights t^β / η^β that add up to r, the information is
    // [r/β² + Σwz², −βΣwz; −βΣwz, β²r]; written with the weighted mean and variance of z its
    // determinant has no cancellation.
    let mean_z = at.mean - ln_relative_scale;
    let spread = 1.0 / (shape * shape) + at.variance;
    let variance_shape = 1.0 / (failures * spread);
    let relative_se_scale = ((spread + mean_z * mean_z) / spread / failures).sqrt() / shape;
    let failure_terms = ages.failed.iter().map(|u| {
        let ln_age = ages.ln_largest + u;
        shape.ln() - ln_age + shape * (u - ln_relative_scale)
    });
    Ok(WeibullFit {
        shape,
        scale,
        log_likelihood: failure_terms.sum::<f64>() - failures,
        se_shape: variance_shape.sqrt(),
        se_scale: scale * relative_se_scale,
        covariance: scale * mean_z / shape * variance_shape,
        failures: lives.failures(),
        lives: lives.len(),
        life,
        relative_se_scale,
    })
}

const fn beyond(what: &'static str) -> LifeError {
    LifeError::BeyondNumbers { what }
}

/// Logarithms of the ages relative to the largest one: at most zero.
struct RelativeAges {
    ln_largest: f64,
    all: Vec<f64>,
    failed: Vec<f64>,
    mean_failed: f64,
}

/// Sums over all lives at one shape, weighted by (age / largest)^shape.
struct SumsAt {
    sum: f64,
    mean: f64,
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
        let all = told.map(|life| ln_ratio(life.age, largest)).collect();
        let failed: Vec<f64> = lives
            .iter()
            .filter(|life| life.failed)
            .map(|life| ln_ratio(life.age, largest))
            .collect();
        let mean_failed = failed.iter().sum::<f64>() / count_f64(failed.len());
        Ok(Self {
            ln_largest: largest.ln(),
            all,
            failed,
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
        for u in &self.all {
            let weight = (shape * u).exp();
            sum += weight;
            weighted += weight * u;
        }
        weighted / sum
    }

    fn sums_at(&self, shape: f64) -> SumsAt {
        let weighted = || self.all.iter().map(|u| ((shape * u).exp(), u));
        let sum: f64 = weighted().map(|(weight, _)| weight).sum();
        let mean = weighted().map(|(weight, u)| weight * u).sum::<f64>() / sum;
        let squares = weighted().map(|(weight, u)| weight * (u - mean) * (u - mean));
        SumsAt {
            sum,
            mean,
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
    use crate::life::{Life, LifeError, Lives};

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
