//! What liquids really use: ratios of totals, credibility, and the next job.
//!
//! Left out of the shared cases: least squares through the origin (another model, as the case itself
//! says) and the variance between groups, which is a policy of the book and not estimated.

use fettlebook_model::credibility::{RatioFit, Span, UseBelief};
use fettlebook_model::life::Limits;
use serde_json::Value;

use crate::case::{Figures, numbers};

/// Our figures for a case, or `None` where it is of another group.
pub(crate) fn compute(computation: &str, inputs: &Value) -> Option<Figures> {
    let figures = match computation {
        "ratio_estimator" => ratio(inputs),
        "shrinkage" => shrinkage(inputs),
        _ => return None,
    };
    Some(figures)
}

/// Spans of a case, in whichever words it gives them.
fn fit(inputs: &Value) -> RatioFit {
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
    let spans: Vec<Span> = pairs
        .map(|(planned, actual)| Span { planned, actual })
        .collect();
    RatioFit::new(&spans).unwrap()
}

fn ends(limits: Limits) -> [f64; 2] {
    [limits.lower, limits.upper]
}

fn ratio(inputs: &Value) -> Figures {
    let fit = fit(inputs);
    let figures = Figures::of([
        ("n", fit.spans() as f64),
        ("ratio", fit.ratio()),
        ("rate", fit.ratio()),
        ("se", fit.linearised_standard_error()),
        ("se_rate", fit.standard_error().unwrap()),
        ("sigma2_per_unit", fit.process_variance().unwrap()),
    ])
    .with("influence", fit.influence())
    .with("ci95", ends(fit.ratio_interval(0.95).unwrap()));
    let Some(planned) = inputs["x_new"].as_f64() else {
        return figures;
    };
    figures
        .with("predict", [fit.ratio() * planned])
        .with("pi95", ends(fit.job_interval(planned, 0.95).unwrap()))
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
        ("K", belief.plan_of_equal_weight().unwrap()),
        ("Z", belief.credibility),
        ("rate", belief.factor),
        ("predict", job.mean),
        ("predicted_total", job.mean),
    ])
    .with("pi95", [job.mean - reach, job.mean + reach])
}
