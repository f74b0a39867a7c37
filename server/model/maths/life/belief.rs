//! What is believed of a make's wear rate at a fixed shape: a prior, updated by the lives seen.
//!
//! It serves the check, which asks whether a pad lasts the next job, and the wear screen. A pad whose
//! age is already among the lives must be asked about with `survival_in_data`: its survival
//! so far must never count twice.

use super::logs::{ln_expm1, ln_rise, ln_sum, softplus};
use super::{LifeError, Lives, Prior, positive, usable_shape};

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
    /// Updates a prior by lives: a = a₀ + Σ wᵢ over the failures, b = b₀ + Σ wᵢ tᵢ^β over all lives,
    /// with w the weight of a life; where all count in full, a₀ + failures and b₀ + Σ tᵢ^β.
    ///
    /// Source: the gamma prior of NIST/SEMATECH e-Handbook 8.4.6, with times to the power β. A life of
    /// weight w stands in the likelihood to the power w (J. G. Ibrahim and M.-H. Chen, *Power prior
    /// distributions*, Statistical Science 15 (2000), 46–60; from memory).
    ///
    /// # Errors
    /// [`LifeError::NotPositive`] where `shape` or a figure of the prior is not above zero and finite,
    /// [`LifeError::BeyondNumbers`] for a shape above 10³⁰⁰.
    pub fn from_prior(shape: f64, prior: Prior, lives: &Lives) -> Result<Self, LifeError> {
        let shape = usable_shape(shape)?;
        let a = positive(prior.a, "the weight of the prior")?;
        let b = positive(prior.b, "the rate of the prior")?;
        // A life of nothing adds nothing.
        let powers = lives
            .iter()
            .filter(|life| life.age > 0.0)
            .map(|life| shape * life.age.ln() + life.weight.ln());
        let ln_b = ln_sum(std::iter::once(b.ln()).chain(powers));
        Ok(Self {
            shape,
            a: a + lives.failure_weight(),
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

    /// Shape a of the rate's gamma distribution: the prior's weight and that of the failures.
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
    pub(crate) fn survival_in_data(&self, age: f64, more: f64) -> f64 {
        self.lasts(ln_rise(self.shape, age, more) - self.ln_b)
    }

    /// Chance that a new pad lasts `more`: (b / (b + Δ^β))^a.
    #[must_use]
    pub fn survival_new(&self, more: f64) -> f64 {
        self.survival_in_data(0.0, more)
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
    pub(crate) fn left_in_data(&self, age: f64, probability: f64) -> f64 {
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
}

#[cfg(test)]
mod tests {
    use super::Belief;
    use crate::maths::life::{Life, LifeError, Lives, Prior};

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
    }

    /// Source: by hand: b = 1 + 0.2³, and what never worked adds 0³.
    #[test]
    fn a_short_life_counts_and_none_at_all_says_nothing() {
        let short = rating(3.0, &[Life::cut_off(0.2)]);
        assert!((short.survival_new(1.0) - 1.008 / 2.008).abs() < 1e-15);
        let none = rating(3.0, &[Life::cut_off(0.0), Life::cut_off(-0.0)]);
        assert_eq!(none.ln_b().to_bits(), rating(3.0, &[]).ln_b().to_bits());
        assert_eq!(none.lives(), 2);
    }

    #[test]
    fn a_failure_earlier_than_rated_shortens_what_is_left_and_a_survivor_lengthens_it() {
        let rated = rating(3.0, &[]).left_in_data(0.4, 0.9);
        let failed = rating(3.0, &[Life::failed(0.5)]).left_in_data(0.4, 0.9);
        let survived = rating(3.0, &[Life::cut_off(2.0)]).left_in_data(0.4, 0.9);
        assert!(failed < rated, "{failed} {rated}");
        assert!(survived > rated, "{survived} {rated}");
    }

    /// Source: Bayes' rule: P(lasts D + Δ | lasted D) from the lives of the other pads alone.
    #[test]
    fn the_survival_of_a_pad_in_the_data_is_counted_once() {
        let belief = rating(3.0, &[Life::failed(1.1), Life::cut_off(0.9)]);
        let others = rating(3.0, &[Life::failed(1.1)]);
        let once = belief.survival_in_data(0.9, 0.3);
        let given_so_far = others.survival_new(1.2) / others.survival_new(0.9);
        assert!((once - given_so_far).abs() < 1e-15);
        let twice = belief.survival_new(1.2) / belief.survival_new(0.9);
        assert!((once - twice).abs() > 1e-3);
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
