//! Groups C, D and G: fits, beliefs and curves.

use crate::maths::life::{Belief, Life, Limits, Lives, Prior, fit_weibull, kaplan_meier};
use serde_json::Value;

use super::case::{Figures, numbers};

/// Our figures for a case, or `None` where it is of another group.
pub(crate) fn compute(computation: &str, inputs: &Value) -> Option<Figures> {
    let figures = match computation {
        "weibull_mle" => fit(&lives(inputs)),
        "weibull_mle_existence" => existence(&lives(inputs)),
        "gamma_prior_elicitation" => prior(inputs),
        "gamma_posterior" => belief(inputs),
        "kaplan_meier" => curve(&lives(inputs)),
        _ => return None,
    };
    Some(figures)
}

fn input(inputs: &Value, name: &str) -> f64 {
    inputs[name].as_f64().unwrap()
}

/// The lives of a case, in whichever form it gives them.
fn lives(inputs: &Value) -> Lives {
    let mut lives = Vec::new();
    lives.extend(listed(&inputs["failures"]).map(Life::failed));
    lives.extend(listed(&inputs["right_censored"]).map(Life::cut_off));
    for pair in inputs["right_censored_time_count"]
        .as_array()
        .into_iter()
        .flatten()
    {
        for _ in 0..pair[1].as_u64().unwrap() {
            lives.push(Life::cut_off(pair[0].as_f64().unwrap()));
        }
    }
    // Where a case gives only the sum of the powers, equal failures with that sum stand for it.
    if let Some(sum) = inputs["sum_t_beta"].as_f64() {
        let failures = inputs["failures"].as_u64().unwrap();
        let each = sum / failures as f64;
        let age = each.powf(1.0 / input(inputs, "beta"));
        lives.extend((0..failures).map(|_| Life::failed(age)));
    }
    Lives::new(lives).unwrap()
}

fn listed(value: &Value) -> impl Iterator<Item = f64> {
    let listed = if value.is_array() {
        numbers(value)
    } else {
        Vec::new()
    };
    listed.into_iter()
}

fn ends(limits: Limits) -> [f64; 2] {
    [limits.lower, limits.upper]
}

/// Of the scale only the figure is asked for, and no quantile of the fitted life: chances come from the
/// beliefs.
fn fit(lives: &Lives) -> Figures {
    let fit = fit_weibull(lives).unwrap();
    Figures::of([
        ("beta", fit.shape),
        ("eta", fit.scale),
        ("se_beta", fit.se_shape),
        ("failures", fit.failures as f64),
        ("n", lives.len() as f64),
    ])
    .with("ci95_beta_log", ends(fit.limits_about(fit.shape)))
    .without([
        "loglik",
        "se_eta",
        "cov_beta_eta",
        "b10",
        "median",
        "mean",
        "ci95_eta_log",
        "ci95_beta_normal",
        "ci95_eta_normal",
    ])
}

fn existence(lives: &Lives) -> Figures {
    match fit_weibull(lives) {
        Ok(fit) => Figures::of([
            ("finite_maximum", 1.0),
            ("beta", fit.shape),
            ("eta", fit.scale),
        ]),
        Err(_) => Figures::of([("finite_maximum", 0.0)]),
    }
}

fn prior(inputs: &Value) -> Figures {
    let beta = input(inputs, "beta");
    let (typical, least) = (input(inputs, "life_50"), input(inputs, "life_05"));
    let prior = Prior::from_two_lives(beta, typical, least).unwrap();
    // The rates of the prior lie below t^-β where η lies above t.
    let share = |life: f64| statrs::function::gamma::gamma_lr(prior.a, prior.b / life.powf(beta));
    Figures::of([
        ("a", prior.a),
        ("b", prior.b),
        ("cdf_rate_1_600", share(600.0)),
        ("cdf_rate_1_250", share(250.0)),
    ])
}

fn belief(inputs: &Value) -> Figures {
    let prior = Prior {
        a: input(inputs, "a"),
        b: input(inputs, "b"),
    };
    let belief = Belief::from_prior(input(inputs, "beta"), prior, &lives(inputs)).unwrap();
    // Chances are told of pads, never of the scale.
    let figures = Figures::of([
        ("posterior_shape", belief.a()),
        ("posterior_rate", belief.ln_b().exp()),
    ])
    .without([
        "eta_at_posterior_mean_rate",
        "eta_median",
        "eta_lower80",
        "eta_lower90",
        "eta_upper90",
        "survival_aged_unit_outside_data",
    ]);
    let (Some(age), Some(more)) = (inputs["age"].as_f64(), inputs["dt"].as_f64()) else {
        return figures;
    };
    figures
        .with("survival_new_unit", [belief.survival_new(more)])
        .with(
            "survival_unit_in_data",
            [belief.survival_in_data(age, more)],
        )
}

fn curve(lives: &Lives) -> Figures {
    let curve = kaplan_meier(lives);
    let column = |of: fn(&crate::maths::life::CurvePoint) -> f64| curve.iter().map(of);
    Figures::default()
        .with("time", column(|point| point.age))
        .with("at_risk", column(|point| point.at_risk as f64))
        .with("events", column(|point| point.failures as f64))
        .with("survival", column(|point| point.survival))
        .with("survival_exact", column(|point| point.survival))
        .with(
            "se_greenwood",
            column(|point| point.standard_error.unwrap_or(0.0)),
        )
        // The screen shows the curve itself.
        .without(["median"])
}
