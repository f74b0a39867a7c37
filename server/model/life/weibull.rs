//! A Weibull life of known shape and scale.
//!
//! It serves the fit, which gives such a life, and tests the beliefs, which average over many. It
//! holds no data and never guesses: without a fit the beliefs answer.

use statrs::function::gamma::ln_gamma;

use super::{LifeError, ln_rise, positive, share, usable_shape};

/// A life with survival R(t) = exp(−(t/η)^β).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weibull {
    shape: f64,
    scale: f64,
}

impl Weibull {
    /// From shape β and scale η, the age that 1/e outlive.
    ///
    /// # Errors
    /// [`LifeError::NotPositive`] where one is not above zero and finite,
    /// [`LifeError::BeyondNumbers`] for a shape above 10³⁰⁰.
    pub fn new(shape: f64, scale: f64) -> Result<Self, LifeError> {
        Ok(Self {
            shape: usable_shape(shape)?,
            scale: positive(scale, "the scale")?,
        })
    }

    /// The shape β.
    #[must_use]
    pub const fn shape(&self) -> f64 {
        self.shape
    }

    /// The scale η, in the unit of the ages.
    #[must_use]
    pub const fn scale(&self) -> f64 {
        self.scale
    }

    /// Chance that a new one outlives `age`.
    #[must_use]
    pub fn survival(&self, age: f64) -> f64 {
        self.conditional_survival(0.0, age)
    }

    /// Chance that one which reached `age` lasts `more` beyond it: exp((t/η)^β − ((t + Δ)/η)^β).
    ///
    /// An age or a `more` that is no number lasts nothing.
    #[must_use]
    pub fn conditional_survival(&self, age: f64, more: f64) -> f64 {
        let hazard = (ln_rise(self.shape, age, more) - self.shape * self.scale.ln()).exp();
        (-hazard).exp()
    }

    /// The age that a share `survival` outlives: η (−ln R)^(1/β). With 0.9 it is the B10 life.
    ///
    /// # Errors
    /// [`LifeError::NotAShare`] unless 0 < `survival` < 1.
    pub fn life_at_survival(&self, survival: f64) -> Result<f64, LifeError> {
        let hazard = -share(survival, "the share that survives")?.ln();
        Ok((self.scale.ln() + hazard.ln() / self.shape).exp())
    }

    /// The mean life η Γ(1 + 1/β); infinite where it is beyond the largest number.
    #[must_use]
    pub fn mean(&self) -> f64 {
        (self.scale.ln() + ln_gamma(1.0 + 1.0 / self.shape)).exp()
    }
}
