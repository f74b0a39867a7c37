//! Netting by period, and lots by expiry.

use crate::supply::{Lot, LotRule, NettingInput, net, pick_first_expiring};
use jiff::civil::Date;
use serde_json::{Value, json};

use super::case::Figures;

/// Our figures for a case, or `None` where it is of another group.
pub(crate) fn compute(computation: &str, inputs: &Value) -> Option<Figures> {
    let figures = match computation {
        "mrp" => record(inputs),
        "fefo" => first_expiring(inputs),
        _ => return None,
    };
    Some(figures)
}

fn whole(inputs: &Value, name: &str) -> i64 {
    inputs[name].as_i64().unwrap_or_else(|| panic!("{name}"))
}

fn record(inputs: &Value) -> Figures {
    let row = |name: &str| -> Vec<i64> {
        let cells = inputs[name].as_array().unwrap();
        cells.iter().map(|cell| cell.as_i64().unwrap()).collect()
    };
    let safety = inputs["safety"].as_i64().unwrap_or(0);
    let lead_periods = whole(inputs, "lead");
    let input = NettingInput {
        on_hand: whole(inputs, "on_hand"),
        gross: &row("gross"),
        scheduled: &row("scheduled"),
        safety,
        lead_periods,
        lot: inputs["lot"]
            .as_i64()
            .map_or(LotRule::LotForLot, LotRule::Lots),
    };
    let record = net(&input).unwrap();
    let past_due = record.past_due_releases.iter();
    let past_due: Vec<[i64; 2]> = past_due
        .map(|release| [release.period, release.quantity])
        .collect();
    // An order point is no part of the record.
    Figures::default()
        .without(["order_point"])
        .told(
            "projected_without_orders",
            json!(record.projected_without_orders),
        )
        .told("net_requirements", json!(record.net_requirements))
        .told("planned_receipts", json!(record.planned_receipts))
        .told("planned_releases", json!(record.planned_releases))
        .told("past_due_releases", json!(past_due))
        .told("projected_with_orders", json!(record.projected_with_orders))
        .told("latest_first_order", json!(record.latest_first_order()))
}

fn first_expiring(inputs: &Value) -> Figures {
    let date = |value: &Value| value.as_str().map(|text| text.parse::<Date>().unwrap());
    let lots: Vec<Lot<&str>> = inputs["lots"]
        .as_array()
        .unwrap()
        .iter()
        .map(|lot| Lot {
            id: lot["lot"].as_str().unwrap(),
            quantity: whole(lot, "qty"),
            expires: date(&lot["expires"]),
            received: date(&lot["received"]).unwrap(),
        })
        .collect();
    let pick = pick_first_expiring(
        &lots,
        whole(inputs, "need"),
        date(&inputs["use_date"]).unwrap(),
        whole(inputs, "min_days_left"),
    );
    let pick = pick.unwrap();
    Figures::default()
        .told("picks", json!(pick.picks))
        .told("short", json!(pick.short))
}
