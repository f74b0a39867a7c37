//! Levels and quantities: reorder points, order quantities, rare demand, stocks by target and by cost.

use fettlebook_model::supply::economic::order_of;
use fettlebook_model::supply::{
    CountDemand, LeadDemand, ReorderPoint, StockCosts, economic_order, economic_order_with_breaks,
    intermittent, normal_deviate, tsb, whole_packs,
};
use serde_json::Value;

use crate::case::{Figures, numbers};

/// Our figures for a case, or `None` where it is of another group.
pub(crate) fn compute(computation: &str, inputs: &Value) -> Option<Figures> {
    let figures = match computation {
        "reorder_point" => reorder_point(inputs),
        "order_quantity" => order_quantity(inputs),
        "intermittent_demand" => rare_demand(inputs),
        "base_stock" => base_stock(inputs),
        _ => return None,
    };
    Some(figures)
}

fn number(inputs: &Value, name: &str) -> f64 {
    inputs[name].as_f64().unwrap_or_else(|| panic!("{name}"))
}

fn reorder_point(inputs: &Value) -> Figures {
    let told = |point: ReorderPoint, sigma: f64| {
        Figures::of([
            ("sigma_ltd", sigma),
            ("safety_stock", point.safety_stock),
            ("reorder_point", point.level),
        ])
    };
    if inputs["mean_ltd"].is_number() {
        let demand = LeadDemand::new(number(inputs, "mean_ltd"), number(inputs, "sd_ltd")).unwrap();
        let target = 1.0 - number(inputs, "stockout_risk");
        let figures = told(demand.reorder_point(target).unwrap(), demand.sd());
        return figures.with("z_exact", [normal_deviate(target).unwrap()]);
    }
    let [per_day, sd_per_day, lead, lead_sd] =
        ["d_per_day", "sd_d", "lead_days", "sd_lead"].map(|name| number(inputs, name));
    let demand = LeadDemand::over_lead(per_day, sd_per_day, lead, lead_sd).unwrap();
    told(demand.at_deviate(number(inputs, "z")).unwrap(), demand.sd())
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
    let holding = number(inputs, "holding");
    let order = economic_order(fixed_cost, demand, holding).unwrap();
    if inputs["pack"].is_number() {
        let (pack, minimum) = (number(inputs, "pack"), number(inputs, "minimum"));
        let packs = whole_packs(fixed_cost, demand, holding, pack, minimum).unwrap();
        return Figures::of([
            ("eoq", order.quantity),
            ("order_qty", packs.quantity),
            ("cost_penalty_ratio", packs.cost_ratio),
        ]);
    }
    let at_250 = order_of(250.0, fixed_cost, demand, holding).unwrap();
    Figures::of([
        ("order_qty", order.quantity),
        ("cost", order.cost),
        ("cost_at_250", at_250.cost),
    ])
}

fn rare_demand(inputs: &Value) -> Figures {
    let series = numbers(&inputs["y"]);
    let told = intermittent(&series, number(inputs, "alpha")).unwrap();
    let falling = |alpha, beta| tsb(&series, alpha, beta).unwrap().forecast;
    Figures::of([
        ("size", told.size),
        ("interval", told.interval),
        ("croston", told.croston),
        ("sba", told.sba),
        ("sbj", told.sbj),
        ("tsb_ad01_ap01", falling(0.1, 0.1)),
        ("tsb_ad02_ap005", falling(0.2, 0.05)),
        ("adi", told.adi),
        ("cv2_population", told.cv2),
    ])
}

fn base_stock(inputs: &Value) -> Figures {
    if inputs["target"].is_number() {
        return by_target(inputs);
    }
    if inputs["x"].is_number() {
        let demand = demand(inputs, "mean", "variance");
        let stock = inputs["x"].as_i64().unwrap();
        return Figures::of([
            ("expected_short", demand.expected_short(stock)),
            ("expected_left", demand.expected_left(stock)),
        ]);
    }
    let costs = StockCosts::new(number(inputs, "holding"), number(inputs, "stockout_cost"));
    let costs = costs.unwrap();
    if inputs["fixed_cost"].is_number() {
        let rate = number(inputs, "demand_rate");
        let demand = CountDemand::poisson(rate * number(inputs, "lead_time")).unwrap();
        let fixed_cost = number(inputs, "fixed_cost");
        let policy = costs.reorder_policy(&demand, rate, fixed_cost).unwrap();
        return Figures::of([
            ("reorder_point", policy.reorder_at as f64),
            ("order_qty", policy.quantity as f64),
            ("cost", policy.cost),
        ]);
    }
    let demand = CountDemand::poisson(number(inputs, "mean")).unwrap();
    let base = costs.base_stock(&demand).unwrap();
    let also_at = inputs["also_at"].as_i64().unwrap();
    Figures::of([
        ("base_stock", base.level as f64),
        ("cost", base.cost),
        ("cost_at", costs.cost_at(&demand, also_at)),
    ])
}

fn demand(inputs: &Value, mean: &str, variance: &str) -> CountDemand {
    CountDemand::by_moments(number(inputs, mean), number(inputs, variance)).unwrap()
}

fn by_target(inputs: &Value) -> Figures {
    let demand = demand(inputs, "mean_ltd", "variance_ltd");
    let target = number(inputs, "target");
    let level = demand.level(target).unwrap();
    let fill_level = demand.level_for_fill(target).unwrap();
    Figures::of([
        ("base_stock_no_stockout", level as f64),
        ("p_no_stockout", demand.at_most(level)),
        ("p_one_less", demand.at_most(level - 1)),
        ("expected_backorders", demand.expected_short(level)),
        ("base_stock_fill_rate", fill_level as f64),
        ("fill_rate", demand.fill_rate(fill_level)),
    ])
}
