//! What is believed of a make's wear rate at a fixed shape: a prior, updated by the lives seen.
//!
//! It serves the check, which asks whether a pad lasts the next job, and the wear screen. A pad whose
//! age is already among the lives must be asked about with [`Belief::survival_in_data`]: its survival
//! so far must never count twice.

use super::logs::{ln_expm1, ln_rise, ln_sum, softplus};
use super::{LifeError, Lives, Prior, count_f64, positive, usable_shape};
use crate::chance::gamma::{Tail, ln_quantile};

/// The rate λ = η^−β has a gamma distribution with shape a and rate b, b being in the unit of the
/// ages to the power β.
///
/// b is kept as its logarithm, so ages from 10⁻³⁰⁰ to 10³⁰⁰ at any shape neither overflow nor vanish.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Belief {
    shape: f64,
    a: f64,
    ln_b: f64,
    failures: usize,
    lives: usize,
}

impl Belief {
    /// Updates a prior by lives: a = a₀ + failures, b = b₀ + Σ tᵢ^β over all lives.
    ///
    /// Source: the gamma prior of NIST/SEMATECH e-Handbook 8.4.6, with times to the power β.
    ///
    /// # Errors
    /// [`LifeError::NotPositive`] where `shape` or a figure of the prior is not above zero and finite,
    /// [`LifeError::BeyondNumbers`] for a shape above 10³⁰⁰.
    pub fn from_prior(shape: f64, prior: Prior, lives: &Lives) -> Result<Self, LifeError> {
        let shape = usable_shape(shape)?;
        let a = positive(prior.a, "the weight of the prior")?;
        let b = positive(prior.b, "the rate of the prior")?;
        let powers = lives.iter().map(|life| shape * life.age.ln());
        let ln_b = ln_sum(std::iter::once(b.ln()).chain(powers));
        Ok(Self {
            shape,
            a: a + count_f64(lives.failures()),
            ln_b,
            failures: lives.failures(),
            lives: lives.len(),
        })
    }

    /// The fixed shape β.
    #[must_use]
    pub const fn shape(&self) -> f64 {
        self.shape
    }

    /// Shape a of the rate's gamma distribution: the prior's weight and the failures.
    #[must_use]
    pub const fn a(&self) -> f64 {
        self.a
    }

    /// Logarithm of the rate b of the rate's gamma distribution.
    #[must_use]
    pub const fn ln_b(&self) -> f64 {
        self.ln_b
    }

    /// Failures it rests on; with none it is the rating alone.
    #[must_use]
    pub const fn failures(&self) -> usize {
        self.failures
    }

    /// Lives it rests on, failures included.
    #[must_use]
    pub const fn lives(&self) -> usize {
        self.lives
    }

    /// Chance that a pad at `age`, already counted among the lives cut off, lasts `more` beyond it:
    /// (b / (b + (D + Δ)^β − D^β))^a.
    ///
    /// An age or a `more` that is no number lasts nothing; a `more` below zero counts as zero.
    #[must_use]
    pub fn survival_in_data(&self, age: f64, more: f64) -> f64 {
        self.lasts(ln_rise(self.shape, age, more) - self.ln_b)
    }

    /// Chance that a new pad lasts `more`: (b / (b + Δ^β))^a.
    #[must_use]
    pub fn survival_new(&self, more: f64) -> f64 {
        self.survival_in_data(0.0, more)
    }

    /// Chance that a pad at `age` which is not among the lives lasts `more` beyond it:
    /// ((b + D^β) / (b + (D + Δ)^β))^a. That it reached its age teaches something first.
    #[must_use]
    pub fn survival_outside_data(&self, age: f64, more: f64) -> f64 {
        let ln_reached = ln_rise(self.shape, 0.0, age);
        let ln_b = self.ln_b + softplus(ln_reached - self.ln_b);
        if ln_b.is_infinite() {
            return if more <= 0.0 { 1.0 } else { 0.0 };
        }
        self.lasts(ln_rise(self.shape, age, more) - ln_b)
    }

    /// (1 + x)^−a from ln x.
    fn lasts(&self, ln_x: f64) -> f64 {
        (-self.a * softplus(ln_x)).exp()
    }

    /// How much more a pad at `age`, counted among the lives, lasts with this probability: the Δ at
    /// which [`Self::survival_in_data`] is `probability`.
    ///
    /// Formula: (D + Δ)^β = D^β + b (p^(−1/a) − 1). Nothing for a probability of one or more, or
    /// where a figure is no number; infinite for zero or below, or beyond the largest number.
    #[must_use]
    pub fn left_in_data(&self, age: f64, probability: f64) -> f64 {
        if probability.is_nan() || probability >= 1.0 || age.is_nan() || age.is_infinite() {
            return 0.0;
        }
        if probability <= 0.0 {
            return f64::INFINITY;
        }
        let ln_rise = self.ln_b + ln_expm1(-probability.ln() / self.a);
        if age <= 0.0 {
            return (ln_rise / self.shape).exp();
        }
        let growth = softplus(ln_rise - self.shape * age.ln()) / self.shape;
        (age.ln() + ln_expm1(growth)).exp()
    }

    /// The scale η that lies below this one with probability `p`; 0 at p ≤ 0, infinite at p ≥ 1.
    ///
    /// A `p` that is no number counts as zero.
    #[must_use]
    pub fn scale_quantile(&self, p: f64) -> f64 {
        if p.is_nan() || p <= 0.0 {
            return 0.0;
        }
        if p >= 1.0 {
            return f64::INFINITY;
        }
        // A small scale is a large rate, so the tail of the rate above is the one of η below.
        let ln_rate = ln_quantile(self.a, Tail::Above(p)) - self.ln_b;
        (-ln_rate / self.shape).exp()
    }

    /// The scale at the mean of the rate: (b / a)^(1/β).
    #[must_use]
    pub fn scale_at_mean_rate(&self) -> f64 {
        ((self.ln_b - self.a.ln()) / self.shape).exp()
    }
}

#[cfg(test)]
mod tests {
    use super::Belief;
    use crate::life::{Life, LifeError, Lives, Prior};

    fn rating(shape: f64, lives: &[Life]) -> Belief {
        Belief::from_prior(shape, Prior::rating(), &Lives::new(lives.to_vec()).unwrap()).unwrap()
    }

    /// Source: by hand; the rating alone is (1 + Δ^β)^−1.
    #[test]
    fn without_lives_the_rating_answers_and_half_reach_damage_one() {
        let belief = rating(3.0, &[]);
        assert_eq!(belief.failures(), 0);
        assert!((belief.survival_new(1.0) - 0.5).abs() < 1e-15);
        assert!((belief.left_in_data(0.0, 0.5) - 1.0).abs() < 1e-15);
        assert!((belief.scale_at_mean_rate() - 1.0).abs() < 1e-15);
    }

    #[test]
    fn a_failure_earlier_than_rated_shortens_what_is_left_and_a_survivor_lengthens_it() {
        let rated = rating(3.0, &[]).left_in_data(0.4, 0.9);
        let failed = rating(3.0, &[Life::failed(0.5)]).left_in_data(0.4, 0.9);
        let survived = rating(3.0, &[Life::cut_off(2.0)]).left_in_data(0.4, 0.9);
        assert!(failed < rated, "{failed} {rated}");
        assert!(survived > rated, "{survived} {rated}");
    }

    /// The survival so far is in the belief once; asking as if it were not there gives another figure.
    #[test]
    fn the_survival_of_a_pad_in_the_data_is_not_counted_twice() {
        let belief = rating(3.0, &[Life::failed(1.1), Life::cut_off(0.9)]);
        let outside = rating(3.0, &[Life::failed(1.1)]);
        let once = belief.survival_in_data(0.9, 0.3);
        assert!((once - outside.survival_outside_data(0.9, 0.3)).abs() < 1e-15);
        assert!((once - belief.survival_outside_data(0.9, 0.3)).abs() > 1e-3);
    }

    #[test]
    fn a_prior_or_shape_that_is_not_above_zero_is_refused() {
        let lives = Lives::default();
        let shape = Belief::from_prior(0.0, Prior::rating(), &lives);
        let what = "the shape";
        assert_eq!(shape, Err(LifeError::NotPositive { what }));
        let shape = Belief::from_prior(1e301, Prior::rating(), &lives);
        assert_eq!(shape, Err(LifeError::BeyondNumbers { what }));
        let prior = Prior {
            a: f64::NAN,
            b: 1.0,
        };
        assert!(Belief::from_prior(3.0, prior, &lives).is_err());
        let prior = Prior {
            a: 1.0,
            b: f64::INFINITY,
        };
        assert!(Belief::from_prior(3.0, prior, &lives).is_err());
    }
}
