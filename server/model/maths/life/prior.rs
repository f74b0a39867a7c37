//! What is believed of a make's wear rate before any of its pads has retired.
//!
//! It serves the belief. It is the rating, or two lives that a practitioner states; it never comes
//! from the data it is then updated by.

use super::{LifeError, positive, usable_shape};
use crate::maths::chance::gamma::{Tail, ln_quantile};
use crate::maths::root::root;

/// The weights that are searched; outside them the two lives are nearly equal or out of proportion.
const WEIGHT_LEAST: f64 = 0.01;
const WEIGHT_MOST: f64 = 1e5;

/// A gamma distribution of the rate λ = η^−β.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Prior {
    /// Its shape a: how many failures it weighs.
    pub a: f64,
    /// Its rate b, in the unit of the ages to the power β.
    pub b: f64,
}

impl Prior {
    /// The rating as one failure at damage one, whatever the shape: η near 1.
    #[must_use]
    pub const fn rating() -> Self {
        Self { a: 1.0, b: 1.0 }
    }

    /// The belief that the scale η is below `typical` with probability ½, and below `least` with
    /// probability 1/20.
    ///
    /// Formula: with G⁻¹ the unit gamma quantile of shape a, G⁻¹(0.95) / G⁻¹(0.5) =
    /// (typical / least)^β gives a, and b = G⁻¹(0.5) typical^β. Source: NIST/SEMATECH e-Handbook
    /// 8.2.5 (there β = 1 and the lives are mean times between failures).
    ///
    /// # Errors
    /// [`LifeError::NotPositive`] for a figure that is not above zero and finite,
    /// [`LifeError::LivesDoNotFit`] where `typical` is not above `least` or no weight from 0.01 to
    /// 100 000 gives the two, [`LifeError::BeyondNumbers`] where b cannot be held
    /// or the shape is above 10³⁰⁰.
    pub(crate) fn from_two_lives(shape: f64, typical: f64, least: f64) -> Result<Self, LifeError> {
        let shape = usable_shape(shape)?;
        let typical = positive(typical, "the typical life")?;
        let least = positive(least, "the least life")?;
        let wanted = shape * (typical.ln() - least.ln());
        let spread = |ln_a: f64| {
            let a = ln_a.exp();
            ln_quantile(a, Tail::Above(0.05)) - ln_quantile(a, Tail::Below(0.5)) - wanted
        };
        let ln_a = root(spread, WEIGHT_LEAST.ln(), WEIGHT_MOST.ln());
        let a = ln_a.ok_or(LifeError::LivesDoNotFit)?.exp();
        let b = (ln_quantile(a, Tail::Below(0.5)) + shape * typical.ln()).exp();
        if b.is_finite() && b > 0.0 {
            Ok(Self { a, b })
        } else {
            let what = "the rate of the prior";
            Err(LifeError::BeyondNumbers { what })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Prior;
    use crate::maths::life::LifeError;
    use statrs::function::gamma::gamma_ur;

    /// Source: the definition: the two quantiles of the scale are the lives stated.
    #[test]
    fn two_lives_come_back_as_the_quantiles_of_the_scale() {
        for (shape, typical, least) in [(1.0, 600.0, 250.0), (3.0, 1.0, 0.4), (0.7, 9.0, 8.0)] {
            let prior = Prior::from_two_lives(shape, typical, least).unwrap();
            // The scale lies below an age where the rate lies above that age to the power −β.
            let below = |age: f64| gamma_ur(prior.a, prior.b / age.powf(shape));
            assert!((below(typical) - 0.5).abs() < 1e-9);
            assert!((below(least) - 0.05).abs() < 1e-9);
        }
    }

    #[test]
    fn lives_in_the_wrong_order_or_out_of_proportion_are_refused() {
        let refused = |typical, least| Prior::from_two_lives(3.0, typical, least).unwrap_err();
        assert_eq!(refused(1.0, 1.0), LifeError::LivesDoNotFit);
        assert_eq!(refused(1.0, 2.0), LifeError::LivesDoNotFit);
        assert_eq!(refused(1e200, 1e-200), LifeError::LivesDoNotFit);
        let what = "the least life";
        assert_eq!(refused(1.0, 0.0), LifeError::NotPositive { what });
    }
}
