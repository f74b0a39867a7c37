//! The gamma distribution with unit rate, to the last digits where the ready inverse is too loose.
//!
//! It serves the beliefs about rates and the spread of a job's use. The integrals are `statrs`'s;
//! only the search for a quantile is ours. It must never be given a shape that is not above zero.

use statrs::function::erf::{erfc, erfc_inv};
use statrs::function::gamma::{checked_gamma_lr, checked_gamma_ur, ln_gamma};

use crate::maths::root::root;

/// Above this shape the cube root of the variable is normal to nine digits, and the continued
/// fraction grows slow. Source: E. B. Wilson and M. M. Hilferty, Proc. Nat. Acad. Sci. 17 (1931), 684.
const SHAPE_MOST: f64 = 1e6;
/// Below this logarithm the first term of the series is all of it.
const LN_TINY: f64 = -40.0;
/// Doublings of a step that take it from one past every number.
const DOUBLINGS_MAX: usize = 12;

/// A probability, counted from one end or the other: small ones keep their digits.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Tail {
    /// So much lies below.
    Below(f64),
    /// So much lies above.
    Above(f64),
}

/// Share of a gamma distribution of this shape and unit rate below `x`.
pub(crate) fn below(shape: f64, x: f64) -> f64 {
    if x.is_nan() || x <= 0.0 {
        return 0.0;
    }
    if x.is_infinite() {
        return 1.0;
    }
    if shape > SHAPE_MOST {
        return 0.5 * erfc(-cube_root_deviate(shape, x) / std::f64::consts::SQRT_2);
    }
    checked_gamma_lr(shape, x).map_or(0.0, |share| share.clamp(0.0, 1.0))
}

fn above(shape: f64, x: f64) -> f64 {
    checked_gamma_ur(shape, x).map_or(0.0, |share| share.clamp(0.0, 1.0))
}

/// Logarithm of the quantile: the x with this much below or above it.
///
/// The probability must lie strictly between 0 and 1; callers settle the ends. In the logarithm a
/// shape far below one does not vanish.
pub(crate) fn ln_quantile(shape: f64, tail: Tail) -> f64 {
    if shape > SHAPE_MOST {
        return ln_quantile_of_large(shape, tail);
    }
    let ln_below = match tail {
        Tail::Below(p) => p.ln(),
        Tail::Above(q) => (-q).ln_1p(),
    };
    // P(a, x) ≤ x^a / Γ(a + 1), so this is at most the quantile, and nearly it where x is tiny.
    let least = (ln_below + ln_gamma(shape + 1.0)) / shape;
    if least < LN_TINY {
        return least;
    }
    let too_far = |ln_x: f64| match tail {
        Tail::Below(p) => below(shape, ln_x.exp()).ln() - p.ln(),
        Tail::Above(q) => q.ln() - above(shape, ln_x.exp()).ln(),
    };
    let mut most = least.max(shape.ln());
    let mut step = 1.0;
    for _ in 0..DOUBLINGS_MAX {
        most += step;
        if too_far(most) > 0.0 {
            break;
        }
        step *= 2.0;
    }
    root(too_far, least, most).unwrap_or(least)
}

fn cube_root_deviate(shape: f64, x: f64) -> f64 {
    let spread = 1.0 / (9.0 * shape);
    ((x / shape).cbrt() - (1.0 - spread)) / spread.sqrt()
}

fn ln_quantile_of_large(shape: f64, tail: Tail) -> f64 {
    let deviate = match tail {
        Tail::Below(p) => -std::f64::consts::SQRT_2 * erfc_inv(2.0 * p),
        Tail::Above(q) => std::f64::consts::SQRT_2 * erfc_inv(2.0 * q),
    };
    let spread = 1.0 / (9.0 * shape);
    let root = 1.0 - spread + deviate * spread.sqrt();
    shape.ln() + 3.0 * root.max(f64::MIN_POSITIVE).ln()
}

#[cfg(test)]
mod tests {
    use super::{Tail, below, ln_quantile};

    /// Source: mpmath 1.4 (`gammainc` and `findroot` at 40 digits), from shape 10⁵ on scipy 1.17
    /// (`gamma.ppf`, `gamma.isf`).
    #[test]
    fn quantiles_agree_with_a_reference_to_ten_digits() {
        for (shape, tail, reference) in [
            (0.01, Tail::Below(1e-6), -1_382.120_086_591_034_4),
            (0.01, Tail::Below(0.5), -69.883_748_850_601_5),
            (0.01, Tail::Above(1e-6), 1.967_287_652_964_469_8),
            (0.5, Tail::Below(1e-6), -27.872_585_591_198_515),
            (0.5, Tail::Below(0.05), -6.231_718_652_596_122),
            (0.5, Tail::Above(0.05), 0.652_705_015_117_920_6),
            (2.863, Tail::Below(0.5), 0.931_161_307_279_826_7),
            (2.863, Tail::Above(1e-6), 2.934_407_084_076_414),
            (30.0, Tail::Below(1e-6), 2.371_258_054_052_604_5),
            (30.0, Tail::Below(0.5), 3.390_046_546_144_988_3),
            (30.0, Tail::Above(0.05), 3.677_337_406_310_285),
            (500.0, Tail::Below(0.05), 6.139_447_347_852_75),
            (500.0, Tail::Above(1e-6), 6.419_304_479_082_733),
            (100_000.0, Tail::Below(1e-6), 11.497_852_710_234_077),
            (100_000.0, Tail::Above(0.05), 11.518_119_117_393_838),
            (10_000_000.0, Tail::Below(0.05), 16.117_575_424_133_585),
            (10_000_000.0, Tail::Above(1e-6), 16.119_598_405_906_246),
        ] {
            let ours = ln_quantile(shape, tail);
            let within = 1e-11 * f64::max(1.0, f64::abs(reference));
            assert!(
                (ours - reference).abs() <= within,
                "{shape} {tail:?}: {ours}, not {reference}"
            );
        }
    }

    #[test]
    fn the_share_below_a_quantile_is_the_one_asked_for() {
        for shape in [0.2, 1.0, 7.0, 400.0, 2e6] {
            for p in [1e-4, 0.3, 0.9] {
                let x = ln_quantile(shape, Tail::Below(p)).exp();
                assert!((below(shape, x) - p).abs() < 1e-9, "{shape} {p}");
            }
        }
    }
}
