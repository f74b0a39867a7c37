//! The scale at a shape taken as known, and the bound where nothing has failed yet.
//!
//! It serves a make with few retirements, beside the belief: here no prior speaks. It must not be
//! taken for a fit of the shape.

use super::logs::ln_sum;
use super::{LifeError, Lives, Weibull, count_f64, positive, share, usable_shape};

/// Lives summed in the power of a known shape.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weibayes {
    shape: f64,
    ln_sum: f64,
    failures: usize,
}

impl Weibayes {
    /// From lives, some of them cut off.
    ///
    /// # Errors
    /// [`LifeError::NotPositive`] where the shape, or every age, is not above zero,
    /// [`LifeError::BeyondNumbers`] for a shape above 10³⁰⁰.
    pub fn new(shape: f64, lives: &Lives) -> Result<Self, LifeError> {
        let shape = usable_shape(shape)?;
        let ln_sum = ln_sum(lives.iter().map(|life| shape * life.age.ln()));
        if ln_sum.is_infinite() {
            let what = "the largest age";
            return Err(LifeError::NotPositive { what });
        }
        Ok(Self {
            shape,
            ln_sum,
            failures: lives.failures(),
        })
    }

    /// Σ t^β over all lives; infinite where it is beyond the largest number.
    #[must_use]
    pub fn sum(&self) -> f64 {
        self.ln_sum.exp()
    }

    /// Failures it rests on.
    #[must_use]
    pub const fn failures(&self) -> usize {
        self.failures
    }

    /// The likeliest life: η = (Σ t^β / r)^(1/β), r the failures. Source: R. B. Abernethy et al.,
    /// *Weibull Analysis Handbook*, AFWAL-TR-83-2079 (1983), ch. 6.
    ///
    /// # Errors
    /// [`LifeError::NoFailures`] without any: ask [`Self::lower_bound`] then.
    pub fn life(&self) -> Result<Weibull, LifeError> {
        if self.failures == 0 {
            return Err(LifeError::NoFailures);
        }
        self.divided_by(count_f64(self.failures))
    }

    /// Without a failure, the life that is outdone with this confidence: η = (Σ t^β / −ln(1 − C))^(1/β).
    ///
    /// With C = 0.632 the divisor is one failure about to happen.
    ///
    /// # Errors
    /// [`LifeError::HasFailures`] where something failed, [`LifeError::NotAShare`] unless
    /// 0 < `confidence` < 1.
    pub fn lower_bound(&self, confidence: f64) -> Result<Weibull, LifeError> {
        if self.failures > 0 {
            let failures = self.failures;
            return Err(LifeError::HasFailures { failures });
        }
        self.divided_by(failures_not_ruled_out(confidence)?)
    }

    fn divided_by(&self, failures: f64) -> Result<Weibull, LifeError> {
        let scale = ((self.ln_sum - failures.ln()) / self.shape).exp();
        let what = "the scale";
        Weibull::new(self.shape, scale).map_err(|_| LifeError::BeyondNumbers { what })
    }
}

/// −ln(1 − C): the expected failures of which none is seen with probability 1 − C.
fn failures_not_ruled_out(confidence: f64) -> Result<f64, LifeError> {
    Ok(-(-share(confidence, "the confidence")?).ln_1p())
}

/// How far each of `units` must run without a failure to show a life with this confidence:
/// T = η (−ln(1 − C) / units)^(1/β), the inverse of [`Weibayes::lower_bound`].
///
/// # Errors
/// [`LifeError::NotAShare`] unless 0 < `confidence` < 1, [`LifeError::NotPositive`] without units.
pub fn run_to_show(life: Weibull, units: usize, confidence: f64) -> Result<f64, LifeError> {
    let units = positive(count_f64(units), "the number of units")?;
    let each = failures_not_ruled_out(confidence)? / units;
    Ok((life.scale().ln() + each.ln() / life.shape()).exp())
}

#[cfg(test)]
mod tests {
    use super::{Weibayes, run_to_show};
    use crate::life::{Life, LifeError, Lives};

    fn lives(lives: &[Life]) -> Lives {
        Lives::new(lives.to_vec()).unwrap()
    }

    #[test]
    fn the_bound_and_the_run_that_shows_it_are_inverse() {
        let run = lives(&[Life::cut_off(3.0); 7]);
        let shown = Weibayes::new(2.5, &run).unwrap().lower_bound(0.9).unwrap();
        assert!((run_to_show(shown, 7, 0.9).unwrap() - 3.0).abs() < 1e-14);
    }

    #[test]
    fn each_answer_is_refused_where_it_does_not_hold() {
        let whole = Weibayes::new(2.0, &lives(&[Life::cut_off(1.0)])).unwrap();
        assert_eq!(whole.life(), Err(LifeError::NoFailures));
        let what = "the confidence";
        assert_eq!(whole.lower_bound(1.0), Err(LifeError::NotAShare { what }));
        let broken = Weibayes::new(2.0, &lives(&[Life::failed(1.0)])).unwrap();
        let failures = 1;
        assert_eq!(
            broken.lower_bound(0.9),
            Err(LifeError::HasFailures { failures })
        );
        let what = "the largest age";
        let unused = Weibayes::new(2.0, &lives(&[Life::cut_off(0.0)]));
        assert_eq!(unused, Err(LifeError::NotPositive { what }));
    }
}
