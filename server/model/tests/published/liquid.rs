//! What liquids really use: ratios of totals, credibility and the next job.

use crate::maths::credibility::{RatioFit, Span, UseBelief};
use serde_json::Value;

use super::case::{Figures, numbers};

/// Our figures for a case, or `None` where it is of another group.
pub(crate) fn compute(computation: &str, case: &Value) -> Option<Figures> {
    let inputs = &case["inputs"];
    let figures = match computation {
        "ratio_estimator" => ratio(inputs),
        "shrinkage" => shrinkage(inputs),
        _ => return None,
    };
    Some(figures)
}

fn fit(inputs: &Value) -> RatioFit {
    RatioFit::new(&spans(inputs)).unwrap()
}

/// Spans of a case, in whichever words it gives them.
fn spans(inputs: &Value) -> Vec<Span> {
    let named = |one: &str, other: &str| {
        let value = if inputs[one].is_null() {
            &inputs[other]
        } else {
            &inputs[one]
        };
        numbers(value)
    };
    let pairs = named("x", "exposures")
        .into_iter()
        .zip(named("y", "totals"));
    pairs
        .map(|(planned, actual)| Span { planned, actual })
        .collect()
}

/// How far the ratio can be wrong is told by the belief, which shrinks it.
fn ratio(inputs: &Value) -> Figures {
    let fit = fit(inputs);
    Figures::of([
        ("n", fit.spans() as f64),
        ("ratio", fit.ratio()),
        ("rate", fit.ratio()),
        ("sigma2_per_unit", fit.process_variance().unwrap()),
    ])
    .without(["influence", "se", "ci95", "se_rate", "predict", "pi95"])
}

fn shrinkage(inputs: &Value) -> Figures {
    let either = |one: &str, other: &str| {
        let first = inputs[one].as_f64();
        first.or_else(|| inputs[other].as_f64()).unwrap()
    };
    let belief = UseBelief::new(
        Some(&fit(inputs)),
        either("rated", "prior_mean"),
        either("sigma2_per_m2", "epv"),
        either("tau2", "vhm"),
    );
    let job = belief.predict(either("x_new", "new_exposure"));
    // The case's interval is normal; ours, where it is used, is a gamma with the same moments.
    let reach = 1.959_963_984_540_054 * job.variance.sqrt();
    Figures::of([
        ("K", belief.process_variance / belief.ratio_variance),
        ("Z", belief.credibility),
        ("rate", belief.factor),
        ("predict", job.mean),
        ("predicted_total", job.mean),
    ])
    .with("pi95", [job.mean - reach, job.mean + reach])
}
