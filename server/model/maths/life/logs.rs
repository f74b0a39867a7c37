//! Sums and differences of powers, formed by their logarithms so that nothing overflows.
//!
//! It serves the beliefs and the carry chance. A figure that is no number counts as endless wear:
//! the answer then errs towards caution and is still a number.

/// ln(1 + eˣ).
pub(crate) fn softplus(x: f64) -> f64 {
    x.max(0.0) + (-x.abs()).exp().ln_1p()
}

/// ln(eˣ − 1) for x ≥ 0; −∞ at zero.
pub(crate) fn ln_expm1(x: f64) -> f64 {
    if x > 1.0 {
        x + (-(-x).exp()).ln_1p()
    } else {
        x.exp_m1().ln()
    }
}

/// ln Σ eˣ; −∞ of nothing.
pub(crate) fn ln_sum(logarithms: impl Iterator<Item = f64> + Clone) -> f64 {
    let largest = logarithms.clone().fold(f64::NEG_INFINITY, f64::max);
    if largest.is_infinite() {
        return largest;
    }
    let sum: f64 = logarithms.map(|x| (x - largest).exp()).sum();
    largest + sum.ln()
}

/// ln((D + Δ)^β − D^β): what Δ more adds to the power of an age D.
///
/// Formula: β ln(D + Δ) + ln(1 − (D / (D + Δ))^β), the last by `expm1`, so that a small Δ on a large
/// D keeps its digits. −∞ where Δ is zero or below; +∞ where a figure is endless or no number. An age
/// below zero counts as zero.
pub(crate) fn ln_rise(shape: f64, age: f64, more: f64) -> f64 {
    if age.is_nan() || more.is_nan() {
        return f64::INFINITY;
    }
    if more <= 0.0 {
        return f64::NEG_INFINITY;
    }
    // Without the sign of a zero, which would turn the ratio below round.
    let age = age.max(0.0).abs();
    if age.is_infinite() {
        return f64::INFINITY;
    }
    let share_added = -(-shape * (more / age).ln_1p()).exp_m1();
    shape * (age + more).ln() + share_added.ln()
}

#[cfg(test)]
mod tests {
    use super::{ln_expm1, ln_rise, ln_sum, softplus};

    fn close(left: f64, right: f64) -> bool {
        (left - right).abs() <= 1e-14 * right.abs().max(1.0)
    }

    #[test]
    fn logarithms_of_sums_hold_from_tiny_to_huge() {
        assert!(close(softplus(0.0), 2_f64.ln()));
        assert!(close(softplus(800.0), 800.0));
        assert!(close(softplus(-40.0), (-40_f64).exp()));
        assert!(close(ln_expm1(2_f64.ln()), 0.0));
        assert!(close(ln_expm1(900.0), 900.0));
        assert!(close(ln_sum([1e5, 1e5].into_iter()), 1e5 + 2_f64.ln()));
        assert_eq!(ln_sum(std::iter::empty()), f64::NEG_INFINITY);
    }

    #[test]
    fn the_rise_of_a_power_keeps_its_digits() {
        assert!(close(ln_rise(3.0, 45.0, 15.0), 124_875_f64.ln()));
        assert!(close(ln_rise(2.0, 0.0, 5.0), 25_f64.ln()));
        assert!(close(ln_rise(2.0, 1.0, 1e-12), (2e-12_f64 + 1e-24).ln()));
        assert!(close(ln_rise(12.0, 1e-300, 1e300), 12.0 * 1e300_f64.ln()));
    }

    #[test]
    fn what_is_no_number_counts_as_endless_wear_and_zero_has_no_sign() {
        assert_eq!(ln_rise(3.0, -0.0, 1.0), 0.0);
        assert_eq!(ln_rise(3.0, f64::NAN, 1.0), f64::INFINITY);
        assert_eq!(ln_rise(3.0, 1.0, f64::NAN), f64::INFINITY);
        assert_eq!(ln_rise(3.0, f64::INFINITY, 1.0), f64::INFINITY);
        assert_eq!(ln_rise(3.0, 1.0, f64::INFINITY), f64::INFINITY);
        assert_eq!(ln_rise(3.0, 1.0, 0.0), f64::NEG_INFINITY);
        assert_eq!(ln_rise(3.0, 1.0, -1.0), f64::NEG_INFINITY);
    }
}
