//! Laws of lives, fits and beliefs: an answer or a refusal with its reason, never what is no number.

use crate::maths::life::{Belief, Life, LifeError, Lives, Prior, fit_weibull, kaplan_meier};
use proptest::prelude::{any, prop, prop_assert, prop_assert_eq, proptest};

use super::figures::{age, anything, lives, ordinary_lives};

/// Whether a finite maximum exists. Source: derivation: the slope of the profile rises from −∞ to
/// ln t_max less the mean of ln t over failures.
fn has_finite_maximum(lives: &[Life]) -> bool {
    let largest = lives.iter().map(|life| life.age).fold(0.0, f64::max);
    let mut failed = lives.iter().filter(|life| life.failed);
    let none_at_zero = failed.clone().all(|life| life.age > 0.0);
    none_at_zero && failed.any(|life| life.age < largest)
}

fn is_chance(p: f64) -> bool {
    (0.0..=1.0).contains(&p)
}

proptest! {
    #[test]
    fn ages_that_are_none_are_refused_and_all_others_taken(
        raw in prop::collection::vec((anything(), any::<bool>()), 0..12),
    ) {
        let raw: Vec<Life> = raw.into_iter().map(|(age, failed)| Life::whole(age, failed)).collect();
        let first_bad = raw.iter().position(|life| !(life.age.is_finite() && life.age >= 0.0));
        match Lives::new(raw.clone()) {
            Ok(lives) => {
                prop_assert_eq!(first_bad, None);
                prop_assert_eq!(lives.len(), raw.len());
                let failed = raw.iter().filter(|life| life.failed).count();
                prop_assert_eq!(lives.failures(), failed);
            }
            Err(
                LifeError::NotANumber { index }
                | LifeError::Negative { index }
                | LifeError::Infinite { index },
            ) => prop_assert_eq!(first_bad, Some(index)),
            Err(other) => prop_assert!(false, "{}", other),
        }
    }

    #[test]
    fn a_fit_is_found_exactly_where_a_finite_maximum_exists(raw in lives()) {
        let exists = has_finite_maximum(&raw);
        match fit_weibull(&Lives::new(raw).unwrap()) {
            Ok(fit) => {
                prop_assert!(exists);
                prop_assert!(fit.shape > 0.0 && fit.shape.is_finite());
                prop_assert!(fit.scale > 0.0 && fit.scale.is_finite());
                prop_assert!(fit.se_shape > 0.0 && fit.se_shape.is_finite());
                let limits = fit.limits_about(fit.shape);
                prop_assert!(limits.lower <= limits.upper && limits.lower >= 0.0);
            }
            Err(LifeError::BeyondNumbers { .. }) => prop_assert!(exists),
            Err(_) => prop_assert!(!exists),
        }
    }

    /// Source: the definition: no shape or scale beside the maximum is likelier.
    #[test]
    fn no_life_beside_the_fitted_one_is_likelier(raw in ordinary_lives()) {
        let lives = Lives::new(raw).unwrap();
        if let Ok(fit) = fit_weibull(&lives) {
            let own = log_likelihood(&lives, fit.shape, fit.scale);
            let within = 1e-9 * own.abs().max(1.0);
            for (shape, scale) in [(1.01, 1.0), (0.99, 1.0), (1.0, 1.01), (1.0, 0.99)] {
                let beside = log_likelihood(&lives, shape * fit.shape, scale * fit.scale);
                prop_assert!(beside < own + within, "{} {:?}", beside, fit);
            }
        }
    }

    /// Source: the definition: in another unit the shape stays and the scale goes along.
    #[test]
    fn the_unit_of_the_ages_does_not_matter(raw in ordinary_lives(), digits in -250.0..250.0) {
        let unit = 10_f64.powf(digits);
        let in_unit = raw.iter().map(|life| Life { age: life.age * unit, ..*life });
        let other = fit_weibull(&Lives::new(in_unit.collect()).unwrap());
        if let (Ok(fit), Ok(other)) = (fit_weibull(&Lives::new(raw).unwrap()), other) {
            prop_assert!((other.shape / fit.shape - 1.0).abs() < 1e-9);
            prop_assert!((other.scale / unit / fit.scale - 1.0).abs() < 1e-9);
        }
    }

    #[test]
    fn the_curve_falls_from_one_and_ends_at_the_largest_age(raw in lives()) {
        let curve = kaplan_meier(&Lives::new(raw.clone()).unwrap());
        let mut last = 1.0;
        for point in &curve {
            prop_assert!(is_chance(point.survival) && point.survival < last);
            prop_assert_eq!(point.standard_error.is_none(), point.survival <= 0.0);
            prop_assert!(point.standard_error.is_none_or(|error| (0.0..=0.5).contains(&error)));
            prop_assert!(point.failures >= 1 && point.failures <= point.at_risk);
            last = point.survival;
        }
        prop_assert_eq!(curve.is_empty(), !raw.iter().any(|life| life.failed));
    }

    #[test]
    fn a_belief_is_refused_or_answers_with_chances(
        raw in lives(),
        shape in anything(),
        a in anything(),
        b in anything(),
        age in anything(),
        more in anything(),
        p in anything(),
    ) {
        let above_zero = |figure: f64| figure.is_finite() && figure > 0.0;
        let usable = [shape, a, b].into_iter().all(above_zero) && shape <= 1e300;
        let belief = Belief::from_prior(shape, Prior { a, b }, &Lives::new(raw).unwrap());
        prop_assert_eq!(belief.is_ok(), usable);
        if let Ok(belief) = belief {
            prop_assert!(is_chance(belief.survival_in_data(age, more)));
            prop_assert!(is_chance(belief.survival_new(more)));
            prop_assert!(belief.left_in_data(age, p) >= 0.0);
        }
    }

    #[test]
    fn lasting_longer_is_never_likelier(
        raw in lives(),
        shape in 0.1..20.0,
        age in age(),
        more in age(),
        further in age(),
    ) {
        let lives = Lives::new(raw).unwrap();
        let belief = Belief::from_prior(shape, Prior::rating(), &lives).unwrap();
        let (near, far) = (more.min(further), more.max(further));
        prop_assert!(belief.survival_in_data(age, near) >= belief.survival_in_data(age, far));
    }

    #[test]
    fn what_is_left_is_where_the_chance_has_fallen_so_far(
        raw in lives(),
        shape in 0.3..12.0,
        age in age(),
        p in 0.001..0.999,
    ) {
        let lives = Lives::new(raw).unwrap();
        let belief = Belief::from_prior(shape, Prior::rating(), &lives).unwrap();
        let left = belief.left_in_data(age, p);
        // Outside these bounds the figures themselves have lost their digits.
        if left.is_normal() && left / age > 1e-300 && (age + left).is_finite() {
            let back = belief.survival_in_data(age, left);
            prop_assert!((back - p).abs() < 1e-8, "{} {}: {} not {}", age, left, back, p);
        }
        prop_assert!(belief.left_in_data(age, 0.5 * p) >= left);
    }

    #[test]
    fn two_lives_make_a_prior_or_are_refused(
        shape in anything(),
        typical in anything(),
        least in anything(),
    ) {
        if let Ok(prior) = Prior::from_two_lives(shape, typical, least) {
            prop_assert!(typical > least && least > 0.0);
            prop_assert!(prior.a > 0.0 && prior.a.is_finite());
            prop_assert!(prior.b > 0.0 && prior.b.is_finite());
        }
    }
}

fn log_likelihood(lives: &Lives, shape: f64, scale: f64) -> f64 {
    let term = |life: &Life| {
        let t = life.age / scale;
        let density = if life.failed {
            (shape / scale).ln() + (shape - 1.0) * t.ln()
        } else {
            0.0
        };
        density - t.powf(shape)
    };
    lives.iter().map(term).sum()
}
