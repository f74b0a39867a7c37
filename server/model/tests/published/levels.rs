//! Levels and quantities: order quantities with price breaks, stocks by target.

use crate::maths::supply::{CountDemand, JobsPolicy, economic_order_with_breaks, jobs_ahead};
use serde_json::Value;

use super::case::{Figures, numbers};

/// Our figures for a case, or `None` where it is of another group.
pub(crate) fn compute(computation: &str, inputs: &Value) -> Option<Figures> {
    let figures = match computation {
        "order_quantity" => order_quantity(inputs),
        "base_stock" => by_target(inputs),
        _ => return None,
    };
    Some(figures)
}

fn number(inputs: &Value, name: &str) -> f64 {
    inputs[name].as_f64().unwrap_or_else(|| panic!("{name}"))
}

fn order_quantity(inputs: &Value) -> Figures {
    let (fixed_cost, demand) = (number(inputs, "fixed_cost"), number(inputs, "demand"));
    if inputs["breaks"].is_array() {
        let prices = numbers(&inputs["unit_prices"]);
        let breaks: Vec<(f64, f64)> = numbers(&inputs["breaks"]).into_iter().zip(prices).collect();
        let rate = number(inputs, "holding_rate");
        let order = economic_order_with_breaks(fixed_cost, demand, rate, &breaks).unwrap();
        return Figures::of([("order_qty", order.quantity), ("cost", order.cost)]);
    }
    // Without breaks, at a price of one, the cost of a unit held is the rate.
    let holding = number(inputs, "holding");
    let order = economic_order_with_breaks(fixed_cost, demand, holding, &[(0.0, 1.0)]).unwrap();
    Figures::of([("order_qty", order.quantity), ("cost", order.cost - demand)])
        .without(["cost_at_250"])
}

/// A Poisson count by the definition of its chances, a negative binomial one as the jobs of a routine that
/// come at a rate with a gamma belief, one piece each.
fn demand(mean: f64, variance: f64) -> CountDemand {
    if variance > mean {
        let excess = variance / mean - 1.0;
        let policy = JobsPolicy {
            weekly_jobs: mean / excess,
            prior_weeks: 1.0,
        };
        let jobs = jobs_ahead(&[], excess, policy).unwrap();
        return jobs.pieces(&[0.0, 1.0]).unwrap();
    }
    let mut chance = (-mean).exp();
    let mut chances = vec![chance];
    for count in 1..200_u32 {
        chance *= mean / f64::from(count);
        chances.push(chance);
    }
    CountDemand::from_chances(chances).unwrap()
}

/// Nothing is ordered by the pieces that are short on average, nor by the share of them.
fn by_target(inputs: &Value) -> Figures {
    let demand = demand(number(inputs, "mean_ltd"), number(inputs, "variance_ltd"));
    let level = demand.level(number(inputs, "target")).unwrap();
    Figures::of([
        ("base_stock_no_stockout", level as f64),
        ("p_no_stockout", demand.at_most(level)),
        ("p_one_less", demand.at_most(level - 1)),
    ])
    .without(["expected_backorders", "base_stock_fill_rate", "fill_rate"])
}
