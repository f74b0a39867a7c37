//! The chance that enough pads last a job, when neither the make's wear rate nor the job's severity
//! is known.
//!
//! It serves the check and the pick. Rate and severity hit every pad at once, so the pads are mixed
//! over both and never counted as independent: at the likeliest rate alone the chance is too sure.

use super::binomial::at_least_with;
use super::makes::{OthersAhead, WeighedOthers, at_least_of_makes, lasting, weigh_others};
use crate::maths::life::{Belief, count_f64, ln_rise};

/// A pad that the job would use: its age is already counted among the lives of the belief.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PadAhead {
    /// Its age in damage.
    pub age: f64,
    /// The damage the job would add at ordinary severity.
    pub more: f64,
}

/// How closely the chance is reckoned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Precision {
    /// Within 10⁻⁶ of the exact integral: what is shown.
    Fine,
    /// Within 3·10⁻³ at about a tenth of the cost: to search for a pick.
    Coarse,
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
        others: &[],
    };
    carry_chance_of_steps(&[step], severity_log_sd, precision)
}

/// The pads of one step of a job.
#[derive(Clone, Copy, Debug)]
pub(crate) struct StepAhead<'a> {
    /// What is believed of the lives of its pads.
    pub belief: &'a Belief,
    /// Pads that must last.
    pub need: usize,
    /// Pads that go.
    pub pads: &'a [PadAhead],
    /// Pads of other makes that go beside them.
    pub others: &'a [OthersAhead],
}

impl StepAhead<'_> {
    /// How many pads go, of whatever make.
    fn pad_count(&self) -> usize {
        let others = self.others.iter().map(|others| others.pads.len());
        others.fold(self.pads.len(), usize::saturating_add)
    }
}

/// Probability that every step of a job has enough pads that last: as [`carry_chance`], with one
/// severity for all steps, since a hard job is hard on all its pads, and a rate for each.
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
    let mut weighed: Vec<WeighedStep<'_>> = steps
        .iter()
        .filter(|step| step.need > 0)
        .map(|step| WeighedStep::new(*step, precision))
        .collect();
    let most =
        |figure: &dyn Fn(&StepAhead<'_>) -> f64| steps.iter().map(figure).fold(0.0, f64::max);
    let shape = most(&|step| step.belief.shape());
    let count = most(&|step| count_f64(step.pad_count()));
    let (mut sum, mut weights) = (0.0, 0.0);
    for severity in severity_nodes(shape, severity_log_sd, count, precision) {
        let chances = weighed.iter_mut().map(|step| step.at_severity(severity.at));
        sum += severity.weight * chances.product::<f64>();
        weights += severity.weight;
    }
    (sum / weights).clamp(0.0, 1.0)
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
        let rates = rate_nodes(step.belief.a(), count_f64(step.pads.len()), precision);
        Self {
            weights: rates.iter().map(|rate| rate.weight).sum(),
            rates,
            wear: Vec::with_capacity(step.pads.len()),
            counts: Vec::new(),
            others: weigh_others(step.others, precision),
            step,
        }
    }

    /// The chance of the step in a job of this severity.
    fn at_severity(&mut self, severity: f64) -> f64 {
        let StepAhead {
            belief, need, pads, ..
        } = self.step;
        if !self.others.is_empty() {
            let own = lasting(belief, pads, &self.rates, severity);
            return at_least_of_makes(
                need,
                own,
                self.others.iter().map(|others| others.at(severity)),
            );
        }
        self.wear.clear();
        let unit_wear = |pad: &PadAhead| unit_wear(belief, *pad, severity);
        self.wear.extend(once_each(pads.iter(), unit_wear));
        let bounds = Bounds::new(&self.wear);
        let mut sum = 0.0;
        for rate in &self.rates {
            sum += rate.weight
                * match bounds.settled(rate.at) {
                    Some(settled) => settled,
                    None => {
                        let lasts = once_each(self.wear.iter(), |wear| (-rate.at * wear).exp());
                        at_least_with(&mut self.counts, need, pads.len(), lasts)
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
    (ln_rise(belief.shape(), pad.age, severity * pad.more) - belief.ln_b()).exp()
}

/// A node of the rule.
pub(super) struct Node {
    pub(super) at: f64,
    pub(super) weight: f64,
}

/// Steps and reaches of the rule, by precision.
///
/// With more pads the chance falls from one to nothing over a shorter stretch, in ln λ as in βσz, and
/// the steps shorten with it. Derived: found by trial against the exact integral, with up to 12 pads.
struct Rule {
    /// Step in ln λ times the square root of a and half the pads.
    rate_step: f64,
    /// Largest step in ln λ.
    rate_step_most: f64,
    /// −ln of the density, relative to its peak, at which ln λ is cut off.
    rate_reach: f64,
    /// Step in z where the severity hardly matters.
    severity_step: f64,
    /// |z| at which the severity is cut off.
    severity_reach: f64,
}

/// Nodes in one direction never exceed this, whatever the belief.
const NODES_MOST: f64 = 600.0;
/// ln of the least rate looked at, so that no node is zero.
const LN_RATE_LEAST: f64 = -600.0;
/// A longer reach would have no exponential.
const RATE_REACH_MOST: f64 = 1e300;

impl Precision {
    const fn rule(self) -> Rule {
        match self {
            Self::Fine => Rule {
                rate_step: 0.9,
                rate_step_most: 0.35,
                rate_reach: 17.0,
                severity_step: 0.85,
                severity_reach: 5.4,
            },
            Self::Coarse => Rule {
                rate_step: 1.5,
                rate_step_most: 0.75,
                rate_reach: 7.5,
                severity_step: 1.55,
                severity_reach: 3.3,
            },
        }
    }
}

/// Rates in units of 1/b, with the density of ln λ relative to its peak at ln a.
pub(super) fn rate_nodes(a: f64, pads: f64, precision: Precision) -> Vec<Node> {
    let rule = precision.rule();
    let reach = (rule.rate_reach / a).min(RATE_REACH_MOST);
    let (low, high) = (edge_below(reach), edge_above(reach));
    let low = low.max(LN_RATE_LEAST - a.ln());
    let step = (rule.rate_step / (a + 0.5 * pads).sqrt())
        .min(rule.rate_step_most)
        .max((high - low) / NODES_MOST);
    evenly(low, high, step)
        .map(|u| Node {
            at: a * u.exp(),
            weight: (-a * (u.exp_m1() - u)).exp(),
        })
        .filter(|node| node.weight > 0.0)
        .collect()
}

/// The u < 0 with e^u − 1 − u = `reach`, by Newton's method from below.
fn edge_below(reach: f64) -> f64 {
    newton(-(reach + (2.0 * reach).sqrt()), reach)
}

/// The u > 0 with e^u − 1 − u = `reach`, by Newton's method from above.
fn edge_above(reach: f64) -> f64 {
    // Beyond one, e^u = 1 + u + reach is at most twice 1 + reach.
    let start = if reach > 1.0 {
        reach.ln_1p() + std::f64::consts::LN_2
    } else {
        (2.0 * reach).sqrt()
    };
    newton(start, reach)
}

/// The function is convex, so a start outside never steps inside.
fn newton(start: f64, reach: f64) -> f64 {
    (0..5).fold(start, |u, _| u - (u.exp_m1() - u - reach) / u.exp_m1())
}

/// Severities s = exp(σz) with the normal density of z.
fn severity_nodes(shape: f64, log_sd: f64, pads: f64, precision: Precision) -> Vec<Node> {
    if log_sd.is_nan() || log_sd <= 0.0 {
        return vec![Node {
            at: 1.0,
            weight: 1.0,
        }];
    }
    let rule = precision.rule();
    let reach = rule.severity_reach;
    let sharpness = shape * shape * log_sd * log_sd * (2.0 + 0.2 * pads);
    let step = (rule.severity_step / (1.0 + sharpness).sqrt()).max(2.0 * reach / NODES_MOST);
    evenly(-reach, reach, step)
        .map(|z| Node {
            at: (log_sd * z).exp(),
            weight: (-0.5 * z * z).exp(),
        })
        .collect()
}

/// From `low` in even steps to `high`.
fn evenly(low: f64, high: f64, step: f64) -> impl Iterator<Item = f64> {
    (0..)
        .map(move |index| low + step * count_f64(index))
        .take_while(move |at| *at <= high)
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
