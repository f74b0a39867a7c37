//! Where the integrals of the carry chance are looked at, and with what weight.
//!
//! It serves every chance that is mixed over the wear rate of a make, and over the severity of a job.

use crate::maths::life::count_f64;

/// How closely the chance is reckoned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Precision {
    /// Within 10⁻⁶ of the exact integral: what is shown.
    Fine,
    /// Within 3·10⁻³ at about a tenth of the cost: to search for a pick.
    Coarse,
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
pub(super) fn severity_nodes(
    shape: f64,
    log_sd: f64,
    pads: f64,
    precision: Precision,
) -> Vec<Node> {
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
