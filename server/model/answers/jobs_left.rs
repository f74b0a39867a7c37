//! How many jobs what is left of a piece lasts for, as a range.
//!
//! Serves the bottle, the bundle and the plate as the belief of lives serves the pad.

use crate::answers::wear_report::LifeRange;
use crate::maths::moments::Moments;

/// Most jobs that are told of.
const JOBS_MOST: f64 = 100_000.0;
/// Halvings of the stretch that the number is in.
const HALVINGS: usize = 60;

/// How many jobs what is left lasts for, `takes` being what so many jobs take together.
///
/// Formula: the n with P(n jobs take no more than is left) = p, what they take being a gamma by its moments; 0.9,
/// 0.5 and 0.1 for p. Nothing where nothing is left.
pub(super) fn jobs_left(left: f64, takes: impl Fn(f64) -> Moments) -> LifeRange {
    let lasts = |probability| lasts_for(left, probability, &takes);
    LifeRange {
        low: lasts(0.9),
        typical: lasts(0.5),
        high: lasts(0.1),
    }
}

fn lasts_for(left: f64, probability: f64, takes: &impl Fn(f64) -> Moments) -> f64 {
    if left.is_nan() || left <= 0.0 {
        return 0.0;
    }
    let is_enough = |jobs: f64| takes(jobs).predicted().at_most(left) >= probability;
    let (mut low, mut high) = (0.0, 1.0);
    while is_enough(high) {
        low = high;
        high *= 2.0;
        if high > JOBS_MOST {
            return JOBS_MOST;
        }
    }
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if is_enough(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

#[cfg(test)]
mod tests {
    use super::{JOBS_MOST, jobs_left};
    use crate::maths::moments::Moments;

    #[test]
    fn what_is_known_lasts_for_a_known_number_of_jobs() {
        let each = Moments::sure(60.0);
        let left = jobs_left(150.0, |jobs| each.many(jobs));
        for lasts in [left.low, left.typical, left.high] {
            assert!((lasts - 2.5).abs() < 1e-9, "{left:?}");
        }
        assert_eq!(jobs_left(0.0, |jobs| each.many(jobs)).high, 0.0);
        assert_eq!(jobs_left(1.0, |_| Moments::NONE).low, JOBS_MOST);
    }

    /// Source: the gamma distribution by hand: with variance 60² · n jobs of mean 60 are a gamma of shape n and
    /// scale 60. One job stays below 60 · ln 10 nine times in ten, and below 60 · ln 2 every other time.
    #[test]
    fn what_varies_lasts_for_fewer_jobs_nine_times_in_ten() {
        let each = Moments {
            mean: 60.0,
            variance: 3_600.0,
        };
        let left = |left: f64| jobs_left(left, |jobs| each.many(jobs));
        assert!((left(60.0 * 10.0_f64.ln()).low - 1.0).abs() < 1e-9);
        assert!((left(60.0 * 2.0_f64.ln()).typical - 1.0).abs() < 1e-9);
        let range = left(600.0);
        assert!(
            range.low < range.typical && range.typical < range.high,
            "{range:?}"
        );
    }
}
