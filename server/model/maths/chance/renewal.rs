//! How many pads wear out over work to come when each that does is replaced by a new one.
//!
//! It serves what has to be replaced ahead. Unlike [`retirements`](super::retirements), which looks at the pads
//! there are, it goes on with those that take their place, so that a long stretch of work may wear out more
//! pads than there are.

use super::mixture::{PadAhead, unit_wear};
use super::rule::{Precision, rate_nodes};
use crate::maths::life::{Belief, count_f64};
use crate::maths::moments::Moments;

/// Steps of the grid for each life that the work is worth, and the bounds of their number. Derived: with
/// them the mean is within a hundredth of a pad of what simulated pads come to.
const STEPS_A_LIFE: f64 = 24.0;
const STEPS_LEAST: usize = 12;
const STEPS_MOST: usize = 240;
/// Pads that the nodes of the rate are laid for: the counts are smooth in the rate, however many there are.
const PADS_FOR_NODES: f64 = 4.0;

/// The number of pads that wear out when each place that a pad works at gets `more` damage, `ages` being
/// what the pads have behind them.
///
/// Formula: at a rate λ a new pad ends in step i of x with chance qᵢ, and the number of ends has the mean
/// m(x) = Σ qᵢ (1 + m(x − i)) and the second moment s(x) = Σ qᵢ (1 + 2 m(x − i) + s(x − i)), the ends of a
/// step spread evenly over it; a pad that has worked already ends with chances of its own and goes on as a
/// new one. Over the belief about λ the mean is that of the means, the variance E\[Var\] + Var\[E\].
/// Source: D. R. Cox, *Renewal Theory* (1962), section 4.1, from memory.
#[must_use]
pub(crate) fn worn_out(belief: &Belief, ages: &[f64], more: f64) -> Moments {
    if ages.is_empty() || !more.is_finite() || more <= 0.0 {
        return Moments::NONE;
    }
    let steps = steps_for(more);
    let new = rises(belief, 0.0, more, steps);
    let old: Vec<Vec<f64>> = ages
        .iter()
        .map(|age| rises(belief, *age, more, steps))
        .collect();
    let (mut mean, mut square, mut weights) = (0.0, 0.0, 0.0);
    for rate in rate_nodes(belief.a(), PADS_FOR_NODES, Precision::Coarse) {
        let ends = Ends::of(&new, rate.at);
        let all = old
            .iter()
            .map(|rises| ends.of_pad(rises, rate.at))
            .fold(Moments::NONE, Moments::plus);
        mean += rate.weight * all.mean;
        square += rate.weight * (all.variance + all.mean * all.mean);
        weights += rate.weight;
    }
    let mean = mean / weights;
    Moments {
        mean,
        variance: (square / weights - mean * mean).max(0.0),
    }
}

fn steps_for(more: f64) -> usize {
    let wanted = (more * STEPS_A_LIFE).ceil().min(count_f64(STEPS_MOST));
    (STEPS_LEAST..STEPS_MOST)
        .find(|steps| count_f64(*steps) >= wanted)
        .unwrap_or(STEPS_MOST)
}

/// What the hazard has risen by at the end of each step, at a rate of 1/b.
fn rises(belief: &Belief, age: f64, more: f64, steps: usize) -> Vec<f64> {
    let rise = |step: usize| {
        let more = more * count_f64(step) / count_f64(steps);
        unit_wear(belief, PadAhead { age, more }, 1.0)
    };
    (1..=steps).map(rise).collect()
}

/// Chances that a pad ends in each step.
fn chances(rises: &[f64], rate: f64) -> impl Iterator<Item = f64> {
    let mut lasted = 1.0;
    rises.iter().map(move |rise| {
        let lasts = (-rate * rise).exp();
        let ends = lasted - lasts;
        lasted = lasts;
        ends
    })
}

/// Means and second moments of the number of ends from a new pad on, after no step, one, two, …
struct Ends {
    means: Vec<f64>,
    squares: Vec<f64>,
}

impl Ends {
    fn of(rises: &[f64], rate: f64) -> Self {
        let ends: Vec<f64> = chances(rises, rate).collect();
        let mut all = Self {
            means: vec![0.0],
            squares: vec![0.0],
        };
        for steps in 1..=ends.len() {
            let first = ends.first().copied().unwrap_or(0.0);
            // What follows an end in the first step is half of the step that is being reckoned.
            let open = 1.0 - 0.5 * first;
            let (mut mean, mut square) = (0.0, 0.0);
            for (at, end) in ends.iter().take(steps).enumerate() {
                let (next_mean, next_square) = all.after(steps, at);
                mean += end * (1.0 + next_mean);
                square += end * (1.0 + 2.0 * next_mean + next_square);
            }
            let mean = mean / open;
            // The mean of the half step was not in it yet.
            let square = (square + first * mean) / open;
            all.means.push(mean);
            all.squares.push(square);
        }
        all
    }

    /// Mean and second moment of what follows an end in the step `at`, half of that step to go; what is not
    /// reckoned yet counts as nothing.
    fn after(&self, steps: usize, at: usize) -> (f64, f64) {
        let later = steps.saturating_sub(at);
        let earlier = later.saturating_sub(1);
        let half = |of: &[f64]| {
            let one = |at: usize| of.get(at).copied().unwrap_or(0.0);
            0.5 * (one(later) + one(earlier))
        };
        (half(&self.means), half(&self.squares))
    }

    /// The number of ends from a pad on whose hazard rises like this.
    fn of_pad(&self, rises: &[f64], rate: f64) -> Moments {
        let (mut mean, mut square) = (0.0, 0.0);
        for (at, end) in chances(rises, rate).enumerate() {
            let (next_mean, next_square) = self.after(rises.len(), at);
            mean += end * (1.0 + next_mean);
            square += end * (1.0 + 2.0 * next_mean + next_square);
        }
        Moments {
            mean,
            variance: (square - mean * mean).max(0.0),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::worn_out;
    use crate::maths::chance::{PadAhead, retirements};
    use crate::maths::life::{Belief, Life, Lives, Prior};

    fn sure(shape: f64) -> Belief {
        // So many failures at damage one that the rate is known.
        let lives = Lives::new(vec![Life::failed(1.0); 4_000]).unwrap();
        Belief::from_prior(shape, Prior::rating(), &lives).unwrap()
    }

    /// Source: the Poisson process: at shape 1 ends come at a steady rate whatever the age, so that both
    /// moments are the damage over the mean life, for each of the pads.
    #[test]
    fn at_a_steady_rate_the_count_is_a_poisson_one() {
        for more in [0.3, 1.0, 2.5, 7.0] {
            let worn = worn_out(&sure(1.0), &[0.0, 0.4, 1.7], more);
            assert!((worn.mean / (3.0 * more) - 1.0).abs() < 0.02, "{worn:?}");
            assert!(
                (worn.variance / (3.0 * more) - 1.0).abs() < 0.05,
                "{worn:?}"
            );
        }
    }

    /// Source: [`retirements`], which goes by the pads there are: over little work no second one ends.
    #[test]
    fn over_little_work_it_is_what_the_pads_there_are_come_to() {
        let lives = vec![Life::failed(0.8), Life::failed(1.3), Life::cut_off(0.5)];
        let belief = Belief::from_prior(3.0, Prior::rating(), &Lives::new(lives).unwrap()).unwrap();
        let pads = [0.9, 0.6, 0.0, 0.2].map(|age| PadAhead { age, more: 0.15 });
        let exact = retirements(&belief, &pads);
        let mean: f64 = (0_u32..).zip(&exact).map(|(k, p)| f64::from(k) * p).sum();
        let ours = worn_out(&belief, &[0.9, 0.6, 0.0, 0.2], 0.15);
        assert!(
            (ours.mean / mean - 1.0).abs() < 0.02,
            "{ours:?}, not {mean}"
        );
    }

    /// Source: 400 000 places simulated with Python's `random.weibullvariate` (scale 1, shape 3, seed 1): 1.5
    /// and 3 of damage on a new pad and on one at 0.7; the third digit is the simulation's own error.
    #[test]
    fn pads_that_are_replaced_wear_out_as_simulated_ones_do() {
        for (age, more, mean, variance) in SIMULATED {
            let worn = worn_out(&sure(3.0), &[age], more);
            assert!((worn.mean - mean).abs() < 0.02, "{age} {more}: {worn:?}");
            assert!(
                (worn.variance - variance).abs() < 0.02,
                "{age} {more}: {worn:?}"
            );
        }
    }

    const SIMULATED: [(f64, f64, f64, f64); 4] = [
        (0.0, 1.5, 1.255, 0.288),
        (0.7, 1.5, 1.857, 0.358),
        (0.0, 3.0, 2.924, 0.546),
        (0.7, 3.0, 3.537, 0.561),
    ];

    #[test]
    fn without_work_or_pads_none_wears_out() {
        assert_eq!(worn_out(&sure(3.0), &[], 2.0).mean, 0.0);
        assert_eq!(worn_out(&sure(3.0), &[0.9], 0.0).mean, 0.0);
        assert_eq!(worn_out(&sure(3.0), &[0.9], f64::NAN).mean, 0.0);
    }
}
