//! How many pieces a demand uses up, given at how much of it each of them ends.
//!
//! It serves what has to be replaced ahead: bottles that run empty, plates and towels that come to the end of
//! their rated life.

use crate::maths::life::count_f64;
use crate::maths::moments::Moments;

/// The number of ends that a demand comes to, the ends in rising order.
///
/// Formula: the count is at least k where the demand is not below the k-th end, so its mean is Σ P(D ≥ eₖ) and
/// its second moment Σ (2k − 1) P(D ≥ eₖ). An end that is not above zero has come already.
#[must_use]
pub(crate) fn used_up(demand: Moments, ends: &[f64]) -> Moments {
    let gamma = demand.predicted();
    let (mut mean, mut square) = (0.0, 0.0);
    for (before, end) in ends.iter().enumerate() {
        let is_known = demand.variance <= 0.0 && demand.mean >= *end;
        let chance = if is_known {
            1.0
        } else {
            1.0 - gamma.at_most(*end)
        };
        mean += chance;
        square += (2.0 * count_f64(before) + 1.0) * chance;
    }
    Moments {
        mean,
        variance: (square - mean * mean).max(0.0),
    }
}

#[cfg(test)]
mod tests {
    use super::used_up;
    use crate::maths::moments::Moments;

    #[test]
    fn a_demand_that_is_known_uses_up_what_it_comes_to() {
        let used = used_up(Moments::sure(240.0), &[0.0, 90.0, 240.0, 490.0]);
        assert_eq!((used.mean, used.variance), (3.0, 0.0));
        assert_eq!(used_up(Moments::NONE, &[-1.0, 5.0]).mean, 1.0);
    }

    /// Source: an exponential demand of mean 100: it is above 100·ln 2 every other time, above 100·ln 4 one
    /// time in four; by hand the mean is 0.75, the second moment 0.5 + 3 · 0.25.
    #[test]
    fn an_end_counts_as_often_as_the_demand_comes_to_it() {
        let demand = Moments {
            mean: 100.0,
            variance: 10_000.0,
        };
        let used = used_up(demand, &[100.0 * 2.0_f64.ln(), 100.0 * 4.0_f64.ln()]);
        assert!((used.mean - 0.75).abs() < 1e-12);
        assert!((used.variance - (1.25 - 0.75 * 0.75)).abs() < 1e-12);
    }
}
