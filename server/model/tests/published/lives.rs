//! Groups C, D, E and G: fits, beliefs, conditional survival and curves.

use fettlebook_model::life::weibayes::run_to_show;
use fettlebook_model::life::{
    Belief, Life, Limits, Lives, Prior, Weibayes, Weibull, fit_weibull, kaplan_meier, median,
};
use serde_json::Value;

use crate::case::{Figures, numbers};

/// Our figures for a case, or `None` where it is of another group.
pub(crate) fn compute(computation: &str, inputs: &Value) -> Option<Figures> {
    let figures = match computation {
        "weibull_mle" => fit(&lives(inputs)),
        "weibull_mle_existence" => existence(&lives(inputs)),
        "weibayes_lower_bound" => lower_bound(inputs),
        "weibayes" => weibayes(inputs),
        "gamma_prior_elicitation" => prior(inputs),
        "gamma_posterior" => belief(inputs),
        "conditional_survival" => conditional(inputs),
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

fn fit(lives: &Lives) -> Figures {
    let fit = fit_weibull(lives).unwrap();
    Figures::of([
        ("beta", fit.shape),
        ("eta", fit.scale),
        ("loglik", fit.log_likelihood),
        ("se_beta", fit.se_shape),
        ("se_eta", fit.se_scale),
        ("cov_beta_eta", fit.covariance),
        ("b10", fit.life_at_survival(0.9).unwrap()),
        ("median", fit.life_at_survival(0.5).unwrap()),
        ("mean", fit.mean()),
        ("failures", fit.failures as f64),
        ("n", fit.lives as f64),
    ])
    .with("ci95_beta_log", ends(fit.shape_limits_log()))
    .with("ci95_eta_log", ends(fit.scale_limits_log()))
    .with("ci95_beta_normal", ends(fit.shape_limits_normal()))
    .with("ci95_eta_normal", ends(fit.scale_limits_normal()))
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

fn lower_bound(inputs: &Value) -> Figures {
    let (beta, confidence) = (input(inputs, "beta"), input(inputs, "confidence"));
    let lives = lives(inputs);
    let shown = Weibayes::new(beta, &lives)
        .unwrap()
        .lower_bound(confidence)
        .unwrap();
    let least = Weibull::new(beta, 1.0).unwrap();
    let scale = 40e6 / least.life_at_survival(0.98).unwrap();
    let wanted = Weibull::new(beta, scale).unwrap();
    Figures::of([
        ("eta_lower", shown.scale()),
        ("b2_lower", shown.life_at_survival(0.98).unwrap()),
        (
            "run_time_for_b2_40e6",
            run_to_show(wanted, lives.len(), confidence).unwrap(),
        ),
    ])
}

fn weibayes(inputs: &Value) -> Figures {
    let mut figures = Figures::default();
    for beta in inputs["beta"].as_array().unwrap() {
        let known = Weibayes::new(beta.as_f64().unwrap(), &lives(inputs)).unwrap();
        let life = known.life().unwrap();
        figures = figures
            .with(&format!("{beta}.eta"), [life.scale()])
            .with(
                &format!("{beta}.b10"),
                [life.life_at_survival(0.9).unwrap()],
            )
            .with(&format!("{beta}.sum_t_beta"), [known.sum()])
            .with(&format!("{beta}.failures"), [known.failures() as f64]);
    }
    figures
}

fn prior(inputs: &Value) -> Figures {
    let beta = input(inputs, "beta");
    let (typical, least) = (input(inputs, "life_50"), input(inputs, "life_05"));
    let prior = Prior::from_two_lives(beta, typical, least).unwrap();
    // The belief without lives is the prior, and its rates lie below t^-β where η lies above t.
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
    let figures = Figures::of([
        ("posterior_shape", belief.a()),
        ("posterior_rate", belief.ln_b().exp()),
        ("eta_at_posterior_mean_rate", belief.scale_at_mean_rate()),
        ("eta_median", belief.scale_quantile(0.5)),
        ("eta_lower80", belief.scale_quantile(0.2)),
        ("eta_lower90", belief.scale_quantile(0.05)),
        ("eta_upper90", belief.scale_quantile(0.95)),
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
        .with(
            "survival_aged_unit_outside_data",
            [belief.survival_outside_data(age, more)],
        )
}

fn conditional(inputs: &Value) -> Figures {
    let life = Weibull::new(input(inputs, "beta"), input(inputs, "eta")).unwrap();
    let (age, more) = (input(inputs, "age"), input(inputs, "dt"));
    Figures::of([
        ("survival_to_age", life.survival(age)),
        ("conditional_survival", life.conditional_survival(age, more)),
        ("mean", life.mean()),
    ])
}

fn curve(lives: &Lives) -> Figures {
    let curve = kaplan_meier(lives);
    let column = |of: fn(&fettlebook_model::life::CurvePoint) -> f64| curve.iter().map(of);
    Figures::default()
        .with("time", column(|point| point.age))
        .with("at_risk", column(|point| point.at_risk as f64))
        .with("events", column(|point| point.failures as f64))
        .with("survival", column(|point| point.survival))
        .with("survival_exact", column(|point| point.survival))
        .with("se_greenwood", column(|point| point.standard_error))
        .with("median", median(&curve))
}
