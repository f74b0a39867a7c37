//! The chance that enough pads last a job, when neither the make's wear rate nor the job's severity
//! is known.
//!
//! It serves the check and the pick. Rate and severity hit every pad at once, so the pads are mixed
//! over both and never counted as independent: at the likeliest rate alone the chance is too sure.

use super::binomial::at_least_with;
use super::days::{PadAgain, parted};
use super::makes::{OthersAhead, WeighedOthers, at_least_of_makes, lasting, weigh_others};
use super::rule::{Node, Precision, rate_nodes, severity_nodes};
use crate::ground::ids::Tag;
use crate::maths::life::{Belief, count_f64, ln_rise};

/// A pad that the job would use: its age is already counted among the lives of the belief.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PadAhead {
    /// Its age in damage.
    pub age: f64,
    /// The damage the job would add at ordinary severity.
    pub more: f64,
}

/// Probability that at least `need` of the pads last, over the belief about the rate λ and a severity
/// s of the job that all of them share.
///
/// Formula: ∫∫ P(at least n of m | pᵢ) dG(λ) dN(z) with pᵢ = exp(−λ ((Dᵢ + s Δᵢ)^β − Dᵢ^β)),
/// s = exp(σz), z standard normal, σ = `severity_log_sd`. The trapezoid rule in ln λ and z, whose
/// error falls faster than any power of the step for such functions (L. N. Trefethen and
/// J. A. C. Weideman, *The exponentially convergent trapezoidal rule*, SIAM Review 56 (2014),
/// 385–458). The precision is promised for a from 1 to 500, β from 0.5 to 12 and σ up to 0.6; beyond
/// them the answer is still a chance.
///
/// A pad with a figure that is no number does not last; a `more` below zero counts as zero. A σ that
/// is no number or not above zero means that every job is ordinary.
#[must_use]
pub fn carry_chance(
    belief: &Belief,
    severity_log_sd: f64,
    need: usize,
    pads: &[PadAhead],
    precision: Precision,
) -> f64 {
    let step = StepAhead {
        belief,
        need,
        pads,
        tags: &[],
        again: &[],
        others: &[],
    };
    carry_chance_of_steps(&[step], severity_log_sd, precision)
}

/// The pads of one step of a job.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct StepAhead<'a> {
    /// What is believed of the lives of its pads.
    pub belief: &'a Belief,
    /// Pads that must last.
    pub need: usize,
    /// Pads that go.
    pub pads: &'a [PadAhead],
    /// Their tags, where steps of a second day may have them again; empty elsewhere.
    pub tags: &'a [Tag],
    /// Pads that worked on the first day of the job and go again.
    pub again: &'a [PadAgain],
    /// Pads of other makes that go beside them.
    pub others: &'a [OthersAhead],
}

impl StepAhead<'_> {
    /// How many pads go, of whatever make.
    fn pad_count(&self) -> usize {
        let others = self.others.iter().map(|others| others.pads.len());
        others.fold(self.own_count(), usize::saturating_add)
    }

    /// How many pads of its make go.
    pub(super) const fn own_count(&self) -> usize {
        self.pads.len().saturating_add(self.again.len())
    }
}

/// Probability that every step of a job has enough pads that last: as [`carry_chance`], with one
/// severity for all steps, since a hard job is hard on all its pads, and a rate for each. Steps of two days
/// that share pads are one in this: they have one rate, and a pad one life.
///
/// Formula: ∫ Πₛ (∫ P(at least nₛ of mₛ | pᵢ) dGₛ(λ)) dN(z). Without any step it is 1.
#[must_use]
pub(crate) fn carry_chance_of_steps(
    steps: &[StepAhead<'_>],
    severity_log_sd: f64,
    precision: Precision,
) -> f64 {
    if steps.iter().any(|step| step.need > step.pad_count()) {
        return 0.0;
    }
    let mut parted = parted(steps, precision);
    let mut weighed = WeighedSteps::of(&parted.alone, precision);
    let most =
        |figure: &dyn Fn(&StepAhead<'_>) -> f64| steps.iter().map(figure).fold(0.0, f64::max);
    let shape = most(&|step| step.belief.shape());
    let count = most(&|step| count_f64(step.pad_count()));
    let linked = parted.linked.iter().map(|linked| linked.pad_count());
    let count = linked.fold(count, f64::max);
    let (mut sum, mut weights) = (0.0, 0.0);
    for severity in severity_nodes(shape, severity_log_sd, count, precision) {
        let linked = parted.linked.iter_mut();
        let linked: f64 = linked.map(|steps| steps.at_severity(severity.at)).product();
        sum += severity.weight * weighed.at_severity(severity.at) * linked;
        weights += severity.weight;
    }
    (sum / weights).clamp(0.0, 1.0)
}

/// Steps that need pads, each weighed once, though several may be alike.
struct WeighedSteps<'a> {
    unlike: Vec<WeighedStep<'a>>,
    /// Which of those each step is.
    all: Vec<usize>,
    chances: Vec<f64>,
}

impl<'a> WeighedSteps<'a> {
    fn of(steps: &[StepAhead<'a>], precision: Precision) -> Self {
        let mut unlike: Vec<WeighedStep<'a>> = Vec::with_capacity(steps.len());
        let mut all = Vec::with_capacity(steps.len());
        for step in steps.iter().filter(|step| step.need > 0) {
            let known = unlike.iter().position(|one| one.step == *step);
            all.push(known.unwrap_or(unlike.len()));
            if known.is_none() {
                unlike.push(WeighedStep::new(*step, precision));
            }
        }
        Self {
            chances: Vec::with_capacity(unlike.len()),
            unlike,
            all,
        }
    }

    /// The chance of all of them in a job of this severity.
    fn at_severity(&mut self, severity: f64) -> f64 {
        let chances = self.unlike.iter_mut();
        self.chances.clear();
        self.chances
            .extend(chances.map(|step| step.at_severity(severity)));
        let chances = self.all.iter().filter_map(|at| self.chances.get(*at));
        chances.product()
    }
}

/// A step with the nodes of its rate.
struct WeighedStep<'a> {
    step: StepAhead<'a>,
    rates: Vec<Node>,
    weights: f64,
    wear: Vec<f64>,
    counts: Vec<f64>,
    others: Vec<WeighedOthers<'a>>,
}

impl<'a> WeighedStep<'a> {
    fn new(step: StepAhead<'a>, precision: Precision) -> Self {
        let rates = rate_nodes(step.belief.a(), count_f64(step.own_count()), precision);
        Self {
            weights: rates.iter().map(|rate| rate.weight).sum(),
            rates,
            wear: Vec::with_capacity(step.own_count()),
            counts: Vec::new(),
            others: weigh_others(step.others, precision),
            step,
        }
    }

    /// The chance of the step in a job of this severity.
    fn at_severity(&mut self, severity: f64) -> f64 {
        let StepAhead {
            belief,
            need,
            pads,
            again,
            ..
        } = self.step;
        self.wear.clear();
        let wear_of = |pad: &PadAhead| unit_wear(belief, *pad, severity);
        self.wear.extend(once_each(pads.iter(), wear_of));
        let again = again.iter().map(|pad| pad.unit_wear(belief, severity));
        self.wear.extend(again);
        if !self.others.is_empty() {
            let own = lasting(&self.wear, &self.rates);
            return at_least_of_makes(
                need,
                own,
                self.others.iter().map(|others| others.at(severity)),
            );
        }
        let bounds = Bounds::new(&self.wear);
        let mut sum = 0.0;
        for rate in &self.rates {
            sum += rate.weight
                * match bounds.settled(rate.at) {
                    Some(settled) => settled,
                    None => {
                        let lasts = once_each(self.wear.iter(), |wear| (-rate.at * wear).exp());
                        at_least_with(&mut self.counts, need, self.wear.len(), lasts)
                    }
                };
        }
        sum / self.weights
    }
}

/// A figure of each, worked out once where the same follow each other: new pads are all alike.
fn once_each<'a, T: Copy + PartialEq + 'a>(
    all: impl Iterator<Item = &'a T>,
    figure: impl Fn(&T) -> f64,
) -> impl Iterator<Item = f64> {
    let mut last: Option<(T, f64)> = None;
    all.map(move |one| match last {
        Some((same, value)) if same == *one => value,
        _ => {
            let value = figure(one);
            last = Some((*one, value));
            value
        }
    })
}

/// What a pad's job adds to its hazard at a rate of 1/b: ((D + sΔ)^β − D^β) / b.
pub(super) fn unit_wear(belief: &Belief, pad: PadAhead, severity: f64) -> f64 {
    unit_wear_of(belief, pad.age, severity * pad.more)
}

/// The same for so much damage, however it comes.
pub(super) fn unit_wear_of(belief: &Belief, age: f64, more: f64) -> f64 {
    (ln_rise(belief.shape(), age, more) - belief.ln_b()).exp()
}

/// Rates past which every pad lasts, or none does, to nine digits.
struct Bounds {
    all_last_below: f64,
    none_lasts_above: f64,
}

impl Bounds {
    fn new(wear: &[f64]) -> Self {
        let sum: f64 = wear.iter().sum();
        let least = wear.iter().copied().fold(f64::INFINITY, f64::min);
        Self {
            all_last_below: 1e-9 / sum,
            none_lasts_above: 25.0 / least,
        }
    }

    fn settled(&self, rate: f64) -> Option<f64> {
        if rate < self.all_last_below {
            Some(1.0)
        } else if rate > self.none_lasts_above {
            Some(0.0)
        } else {
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{PadAhead, Precision, StepAhead, carry_chance_of_steps};
    use crate::maths::life::{Belief, Life, Lives, Prior};

    fn belief(lives: &[Life]) -> Belief {
        Belief::from_prior(3.0, Prior::rating(), &Lives::new(lives.to_vec()).unwrap()).unwrap()
    }

    /// Source: by hand, every job being ordinary: a step alone lasts with b / (b + x) where nothing has failed, and
    /// steps have nothing in common then, so that of several it is the product, each counted though two are alike.
    #[test]
    fn steps_that_are_alike_count_each() {
        let (new, worn) = (belief(&[]), belief(&[Life::cut_off(0.8)]));
        let (one, other) = ([pad(0.0, 0.7)], [pad(0.8, 0.4)]);
        let first = step(&new, &one);
        let second = step(&worn, &other);
        let last = |(b, x): (f64, f64)| b / (b + x);
        let of_first = last((1.0, 0.7_f64.powi(3)));
        let of_second = last((1.0 + 0.8_f64.powi(3), 1.2_f64.powi(3) - 0.8_f64.powi(3)));
        for (steps, expected) in [
            (vec![first], of_first),
            (vec![first, first], of_first.powi(2)),
            (vec![second, first], of_second * of_first),
            (
                vec![first, second, first, second, second],
                of_first.powi(2) * of_second.powi(3),
            ),
        ] {
            let chance = carry_chance_of_steps(&steps, 0.0, Precision::Fine);
            assert!((chance - expected).abs() < 1e-6, "{chance} {expected}");
        }
    }

    /// Source: by definition: with a severity that all share, two alike are ∫ p² where one is ∫ p.
    #[test]
    fn a_hard_job_is_hard_on_steps_that_are_alike() {
        let (new, one) = (belief(&[]), [pad(0.0, 0.7)]);
        let chance = |steps: &[StepAhead<'_>]| carry_chance_of_steps(steps, 0.3, Precision::Fine);
        let alone = chance(&[step(&new, &one)]);
        let both = chance(&[step(&new, &one), step(&new, &one)]);
        assert!(
            alone.powi(2) + 1e-4 < both && both + 1e-4 < alone,
            "{both} {alone}"
        );
    }

    fn pad(age: f64, more: f64) -> PadAhead {
        PadAhead { age, more }
    }

    fn step<'a>(belief: &'a Belief, pads: &'a [PadAhead]) -> StepAhead<'a> {
        StepAhead {
            belief,
            need: pads.len(),
            pads,
            tags: &[],
            again: &[],
            others: &[],
        }
    }
}
