//! Group F: how many of several events happen.

use crate::maths::chance::binomial::{at_least_with, poisson_binomial};
use serde_json::Value;

use super::case::{Figures, numbers};

/// Our figures for a case, or `None` where it is of another group.
pub(crate) fn compute(computation: &str, inputs: &Value) -> Option<Figures> {
    if computation != "poisson_binomial" {
        return None;
    }
    let p = numbers(&inputs["p"]);
    let k = usize::try_from(inputs["k"].as_u64().unwrap()).unwrap();
    let chances = poisson_binomial(&p);
    let counts = || {
        chances
            .iter()
            .enumerate()
            .map(|(k, chance)| (k as f64, *chance))
    };
    let mean: f64 = counts().map(|(k, chance)| k * chance).sum();
    let squares = counts().map(|(k, chance)| (k - mean) * (k - mean) * chance);
    let figures = Figures::of([
        ("n", (chances.len() - 1) as f64),
        ("mean", mean),
        ("variance", squares.sum()),
        (
            "at_least_k",
            at_least_with(&mut Vec::new(), k, p.len(), p.iter().copied()),
        ),
    ]);
    let first = chances.iter().copied().take(16).collect::<Vec<_>>();
    Some(figures.with("pmf", chances).with("pmf_0_to_15", first))
}
