//! How many pads of several makes last: each make wears at a rate of its own.
//!
//! It serves the carry chance where a make is short and others do for it. Within a make one rate hits
//! every pad at once; between makes only the severity of the job is shared.

use super::binomial::poisson_binomial;
use super::mixture::{PadAhead, unit_wear};
use super::rule::{Node, Precision, rate_nodes};
use crate::maths::life::{Belief, count_f64};

/// Pads of another make that do for a step's.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct OthersAhead {
    /// What is believed of their lives.
    pub(crate) belief: Belief,
    /// Those that go.
    pub(crate) pads: Vec<PadAhead>,
}

/// Pads of another make with the nodes of their rate.
pub(super) struct WeighedOthers<'a> {
    ahead: &'a OthersAhead,
    rates: Vec<Node>,
}

impl WeighedOthers<'_> {
    /// Chances that none, one, … of them last a job of this severity.
    pub(super) fn at(&self, severity: f64) -> Vec<f64> {
        let OthersAhead { belief, pads } = self.ahead;
        let wear = pads.iter().map(|pad| unit_wear(belief, *pad, severity));
        lasting(&wear.collect::<Vec<_>>(), &self.rates)
    }
}

/// Finds the nodes of the rates of other makes.
pub(super) fn weigh_others(others: &[OthersAhead], precision: Precision) -> Vec<WeighedOthers<'_>> {
    let weighed = others.iter().map(|ahead| WeighedOthers {
        rates: rate_nodes(ahead.belief.a(), count_f64(ahead.pads.len()), precision),
        ahead,
    });
    weighed.collect()
}

/// Chances that none, one, … of the pads of a make last, by what a job adds to the hazard of each: those at each
/// rate, mixed over the belief about it.
pub(super) fn lasting(wear: &[f64], rates: &[Node]) -> Vec<f64> {
    let mut mixed = vec![0.0; wear.len().saturating_add(1)];
    let mut weights = 0.0;
    for rate in rates {
        let lasts: Vec<f64> = wear.iter().map(|wear| (-rate.at * wear).exp()).collect();
        for (sum, chance) in mixed.iter_mut().zip(poisson_binomial(&lasts)) {
            *sum += rate.weight * chance;
        }
        weights += rate.weight;
    }
    mixed.iter().map(|sum| sum / weights).collect()
}

/// Probability that at least so many last of all makes, from the chances of how many last of each.
pub(super) fn at_least_of_makes(
    need: usize,
    own: Vec<f64>,
    others: impl Iterator<Item = Vec<f64>>,
) -> f64 {
    let all = others.fold(own, |all, more| convolved(&all, &more));
    all.iter().skip(need).sum::<f64>().clamp(0.0, 1.0)
}

/// Chances of sums of two numbers that have nothing to do with one another.
fn convolved(left: &[f64], right: &[f64]) -> Vec<f64> {
    let longest = left.len().saturating_add(right.len()).saturating_sub(1);
    let mut sums = vec![0.0; longest];
    for (at, chance) in left.iter().enumerate() {
        for (sum, other) in sums.iter_mut().skip(at).zip(right) {
            *sum += chance * other;
        }
    }
    sums
}

#[cfg(test)]
mod tests {
    use super::OthersAhead;
    use crate::maths::chance::{PadAhead, Precision, StepAhead, carry_chance_of_steps};
    use crate::maths::life::{Belief, Lives, Prior};

    const PRECISION: Precision = Precision::Fine;

    fn rated(shape: f64) -> Belief {
        let none = Lives::new(Vec::new()).unwrap();
        Belief::from_prior(shape, Prior::rating(), &none).unwrap()
    }

    fn pad(age: f64, more: f64) -> PadAhead {
        PadAhead { age, more }
    }

    fn chance(
        belief: &Belief,
        need: usize,
        pads: &[PadAhead],
        others: &[OthersAhead],
        sd: f64,
    ) -> f64 {
        let step = StepAhead {
            belief,
            need,
            pads,
            tags: &[],
            again: &[],
            others,
        };
        carry_chance_of_steps(&[step], sd, PRECISION)
    }

    /// Source: by hand, every job being ordinary: E exp(−λx) = (b / (b + x))^a with a = b = 1 of a rating
    /// alone, and makes have nothing in common: both of two last with the product, one of them with
    /// the sum less the product.
    #[test]
    fn pads_of_two_makes_last_each_by_its_own_rate() {
        let (foam, wool) = (rated(3.0), rated(2.0));
        let own = [pad(0.5, 0.3)];
        let others = [OthersAhead {
            belief: wool,
            pads: vec![pad(0.2, 0.4)],
        }];
        let (first, second) = (
            1.0 / (1.0 + 0.8_f64.powi(3) - 0.5_f64.powi(3)),
            1.0 / (1.0 + 0.6_f64.powi(2) - 0.2_f64.powi(2)),
        );
        let both = chance(&foam, 2, &own, &others, 0.0);
        assert!((both - first * second).abs() < 1e-6, "{both}");
        let either = chance(&foam, 1, &own, &others, 0.0);
        assert!(
            (either - (first + second - first * second)).abs() < 1e-6,
            "{either}"
        );
        assert!((chance(&foam, 3, &own, &others, 0.0)).abs() < f64::EPSILON);
    }

    /// Source: by hand: of a make of its own a pad lasts as it does beside none; a hard job is hard on both
    /// makes, so that with an unknown severity both last more often than by the product.
    #[test]
    fn a_hard_job_is_hard_on_both_makes() {
        let foam = rated(3.0);
        let (one, other) = ([pad(0.5, 0.3)], [pad(0.4, 0.4)]);
        let others = [OthersAhead {
            belief: foam,
            pads: other.to_vec(),
        }];
        let alone = chance(&foam, 1, &one, &[], 0.3);
        let none: [PadAhead; 0] = [];
        let as_other = [OthersAhead {
            belief: foam,
            pads: one.to_vec(),
        }];
        assert!((chance(&foam, 1, &none, &as_other, 0.3) - alone).abs() < 1e-6);
        let product = alone * chance(&foam, 1, &other, &[], 0.3);
        let both = chance(&foam, 2, &one, &others, 0.3);
        assert!(both > product + 1e-4, "{both} {product}");
    }
}
