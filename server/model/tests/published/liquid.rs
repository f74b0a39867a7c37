//! What liquids really use: ratios of totals, credibility, the next job, and what these are compared
//! with: the line through the origin and the credibility of groups.

use fettlebook_model::credibility::{
    Observation, OriginFit, RatioFit, Span, UseBelief, groups_belief,
};
use fettlebook_model::life::Limits;
use serde_json::Value;

use crate::case::{Figures, numbers};

/// Our figures for a case, or `None` where it is of another group.
///
/// A case that asks for a slope is of the line through the origin, one of groups says so.
pub(crate) fn compute(computation: &str, case: &Value) -> Option<Figures> {
    let inputs = &case["inputs"];
    let figures = match computation {
        "ratio_estimator" if case["expected"]["slope"].is_number() => origin(inputs),
        "ratio_estimator" => ratio(inputs),
        "shrinkage" if inputs["groups"].is_array() => groups(inputs),
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

fn origin(inputs: &Value) -> Figures {
    let fit = OriginFit::new(&spans(inputs)).unwrap();
    Figures::of([
        ("slope", fit.slope),
        ("se", fit.standard_error),
        ("residual_sd", fit.residual_sd),
        ("r2_uncentred", fit.r2_uncentred),
    ])
}

/// Each group gives its exposures, then its rates.
fn groups(inputs: &Value) -> Figures {
    let groups: Vec<Vec<Observation>> = inputs["groups"]
        .as_array()
        .unwrap()
        .iter()
        .map(|group| {
            let pairs = numbers(&group[0]).into_iter().zip(numbers(&group[1]));
            pairs
                .map(|(exposure, rate)| Observation { exposure, rate })
                .collect()
        })
        .collect();
    let belief = groups_belief(&groups).unwrap();
    Figures::of([
        ("overall", belief.overall),
        ("epv", belief.within),
        ("vhm", belief.between),
        ("K", belief.equal_weight.unwrap()),
    ])
    .with(
        "mean_by_group",
        belief.groups.iter().map(|group| group.mean),
    )
    .with("Z", belief.groups.iter().map(|group| group.credibility))
    .with("estimate", belief.groups.iter().map(|group| group.estimate))
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
