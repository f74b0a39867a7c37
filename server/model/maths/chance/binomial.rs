//! How many of several independent pads last, each with a chance of its own.
//!
//! It serves the carry chance. A chance outside 0 to 1 counts as the nearer end, and one that is no
//! number as 0: an unknown pad is not counted on.

use std::iter::repeat_n;

/// Probabilities of 0, 1, … all of the events, each with its own chance `p`.
///
/// Formula: the convolution of the single chances, exact but for rounding. Source: Y. Hong, *On
/// computing the distribution function for the Poisson binomial distribution*, Comput. Stat. Data
/// Anal. 59 (2013), 41–51.
#[must_use]
pub(crate) fn poisson_binomial(p: &[f64]) -> Vec<f64> {
    let mut chances = Vec::with_capacity(p.len().saturating_add(1));
    chances.push(1.0);
    for p in p {
        let all = add_event(&mut chances, chance(*p));
        chances.push(all);
    }
    chances
}

/// Probability that at least `k` of `events` happen, by their chances within 0 to 1, counted in `counts`,
/// which is only there to be used again.
///
/// Counts what is fewer: the events up to `k`, or the misses that may happen.
pub(crate) fn at_least_with(
    counts: &mut Vec<f64>,
    k: usize,
    events: usize,
    p: impl Iterator<Item = f64>,
) -> f64 {
    let Some(most_misses) = events.checked_sub(k) else {
        return 0.0;
    };
    if k == 0 {
        return 1.0;
    }
    if most_misses == 0 {
        // By what a miss leaves, as below, to the same last digit.
        return p
            .fold(1.0, |all, p| all * (1.0 - (1.0 - p)))
            .clamp(0.0, 1.0);
    }
    counts.clear();
    counts.push(1.0);
    let sum: f64 = if most_misses < k {
        counts.extend(repeat_n(0.0, most_misses));
        p.for_each(|p| {
            add_event(counts, 1.0 - p);
        });
        counts.iter().sum()
    } else {
        counts.extend(repeat_n(0.0, k.saturating_sub(1)));
        p.map(|p| add_event(counts, p)).sum()
    };
    sum.clamp(0.0, 1.0)
}

/// Adds an event to the chances of 0, 1, … events, and gives back what goes beyond the last one.
fn add_event(chances: &mut [f64], p: f64) -> f64 {
    let mut beyond = 0.0;
    for here in chances {
        let stays = *here;
        *here = stays * (1.0 - p) + beyond;
        beyond = stays * p;
    }
    beyond
}

fn chance(p: f64) -> f64 {
    if p.is_nan() { 0.0 } else { p.clamp(0.0, 1.0) }
}

#[cfg(test)]
mod tests {
    use super::{at_least_with, poisson_binomial};

    fn at_least(k: usize, p: &[f64]) -> f64 {
        at_least_with(&mut Vec::new(), k, p.len(), p.iter().copied())
    }

    #[test]
    fn counting_hits_or_misses_gives_the_same_as_the_whole_distribution() {
        let p = [0.1, 0.35, 0.5, 0.8, 0.95, 0.99, 1.0, 0.0];
        let whole = poisson_binomial(&p);
        for k in 0..=p.len() {
            let tail: f64 = whole[k..].iter().sum();
            assert!((at_least(k, &p) - tail).abs() < 1e-15, "{k}");
        }
    }

    #[test]
    fn no_more_pads_than_there_are_can_last() {
        assert_eq!(at_least(3, &[1.0, 1.0]), 0.0);
        assert_eq!(at_least(0, &[]), 1.0);
        assert_eq!(at_least(1, &[]), 0.0);
        assert_eq!(poisson_binomial(&[]), [1.0]);
    }

    #[test]
    fn a_chance_that_is_none_counts_as_the_nearer_end_or_as_nothing() {
        assert_eq!(poisson_binomial(&[-3.0, 7.0]), [0.0, 1.0, 0.0]);
        assert_eq!(
            poisson_binomial(&[f64::INFINITY, f64::NAN]),
            [0.0, 1.0, 0.0]
        );
    }
}
