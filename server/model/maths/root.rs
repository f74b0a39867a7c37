//! The one finder of roots: where a function between two ends of opposite sign is zero.
//!
//! It serves the estimators that have no closed form. It never leaves its bracket, and it ends after
//! a set number of steps whatever the function does.

/// More steps than bisection needs for any bracket of ordinary numbers.
const STEPS_MAX: usize = 200;

/// Where `f` is zero between `low` and `high`, to about one part in 10¹⁵ of the larger of the root
/// and one.
///
/// `None` where the ends have the same sign or a value is no number. Infinite values are allowed:
/// they only cost steps. Method: T. R. Chandrupatla, *A new hybrid quadratic/bisection algorithm*,
/// Advances in Engineering Software 28 (1997), 145–149.
pub(crate) fn root(f: impl Fn(f64) -> f64, low: f64, high: f64) -> Option<f64> {
    let mut newest = (low, f(low));
    let mut opposite = (high, f(high));
    if newest.1.is_nan() || opposite.1.is_nan() || is_positive(newest) == is_positive(opposite) {
        return end_that_is_zero(newest, opposite);
    }
    let mut step = 0.5;
    for _ in 0..STEPS_MAX {
        let width = opposite.0 - newest.0;
        let x = newest.0 + step * width;
        let next = (x, f(x));
        if next.1.is_nan() {
            return None;
        }
        let dropped = if is_positive(next) == is_positive(newest) {
            newest
        } else {
            std::mem::replace(&mut opposite, newest)
        };
        newest = next;
        let best = if newest.1.abs() < opposite.1.abs() {
            newest
        } else {
            opposite
        };
        let least_step = 2.0 * f64::EPSILON * best.0.abs().max(1.0) / (opposite.0 - newest.0).abs();
        if best.1.abs() <= 0.0 || least_step > 0.5 {
            return Some(best.0);
        }
        step = next_step(newest, opposite, dropped).clamp(least_step, 1.0 - least_step);
    }
    Some(newest.0)
}

fn is_positive((_, value): (f64, f64)) -> bool {
    value > 0.0
}

fn end_that_is_zero(low: (f64, f64), high: (f64, f64)) -> Option<f64> {
    let zero = [low, high].into_iter().find(|end| end.1.abs() <= 0.0);
    zero.map(|end| end.0)
}

/// Share of the bracket to go from the newest point: by the inverse quadratic where that is known to
/// behave, else half.
fn next_step((a, fa): (f64, f64), (b, fb): (f64, f64), (c, fc): (f64, f64)) -> f64 {
    let xi = (a - b) / (c - b);
    let phi = (fa - fb) / (fc - fb);
    if phi * phi >= xi || (1.0 - phi) * (1.0 - phi) >= 1.0 - xi {
        return 0.5;
    }
    let step =
        fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb);
    if step.is_finite() { step } else { 0.5 }
}

#[cfg(test)]
mod tests {
    use super::root;

    #[test]
    fn a_root_is_found_to_the_last_digits() {
        let two = root(|x| x * x - 2.0, 0.0, 2.0).unwrap();
        assert!((two - std::f64::consts::SQRT_2).abs() < 1e-15);
        let flat = root(|x| (x - 1.0).powi(9), -3.0, 5.0).unwrap();
        assert!((flat - 1.0).abs() < 1e-14);
    }

    #[test]
    fn an_infinite_end_only_costs_steps() {
        let one = root(f64::ln, 0.0, 3.0).unwrap();
        assert!((one - 1.0).abs() < 1e-14);
    }

    #[test]
    fn a_root_at_an_end_is_found() {
        assert_eq!(root(|x| x, 0.0, 1.0), Some(0.0));
        assert_eq!(root(|x| x - 1.0, 0.0, 1.0), Some(1.0));
    }

    #[test]
    fn ends_of_one_sign_or_no_number_have_no_root() {
        assert_eq!(root(|x| x * x + 1.0, -1.0, 1.0), None);
        assert_eq!(root(|_| f64::NAN, -1.0, 1.0), None);
        assert_eq!(
            root(|x| if x > 0.1 { f64::NAN } else { -1.0 }, 0.0, 1.0),
            None
        );
    }
}
