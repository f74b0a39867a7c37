//! The gamma distribution with unit rate, to the last digits where the ready inverse is too loose.
//!
//! It serves the beliefs about rates and the spread of a job's use. The integrals are `statrs`'s;
//! only the search for a quantile is ours. It must never be given a shape that is not above zero.

use statrs::function::erf::{erfc, erfc_inv};
use statrs::function::gamma::{checked_gamma_lr, checked_gamma_ur, ln_gamma};

use crate::root::root;

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
