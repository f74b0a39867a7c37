//! Groups A and B: sliding speeds and cumulative damage.

use crate::trade::wear::{Action, WorkAsk, miner, work_of};
use fettlebook_quantity::Length;
use serde_json::Value;

use super::case::{Figures, numbers};

/// Our figures for a case, or `None` where it is of another group.
pub(crate) fn compute(computation: &str, inputs: &Value) -> Option<Figures> {
    let input = |name: &str| inputs[name].as_f64().unwrap();
    let disc = |turns: &str| speed_m_per_s(Action::Rotary, input("diameter_m"), input(turns));
    let orbit = || speed_m_per_s(Action::Orbital, input("throw_diameter_m"), input("opm"));
    let figures = match computation {
        "disc_mean_speed" => Figures::of([("mean_speed_m_s", disc("rpm"))]),
        "friction_power" => {
            let power = input("mu") * input("normal_force_N") * disc("rpm");
            Figures::of([("mean_speed_m_s", disc("rpm")), ("power_W", power)])
        }
        "orbit_speed" => Figures::of([("speed_m_s", orbit())]),
        // The free spin of an orbiting pad is left out on purpose: the combined speed is not ours.
        "compound_mean_speed (informative)" => Figures::of([
            ("orbit_only_m_s", orbit()),
            ("spin_only_m_s", disc("spin_rpm")),
        ])
        .without(["mean_speed_m_s"]),
        "miner_damage" => miner_figures(inputs),
        // What is left at another load is arithmetic that nothing here asks for.
        "miner_remaining" => {
            Figures::of([("damage", miner(&applied_rated(inputs)))]).without(["remaining_at_next"])
        }
        _ => return None,
    };
    Some(figures)
}

/// The mean sliding speed that the work of a long use stands for: at one pressure work goes by speed and
/// time alone, and at 40 N on 150 mm the 15 mm orbits at 4500 a minute make one section in 144 s.
fn speed_m_per_s(action: Action, across_m: f64, per_min: f64) -> f64 {
    let across = Length::from_mm((across_m * 1e3).round() as i64);
    let (face, throw) = match action {
        Action::Rotary => (across, Length::ZERO),
        Action::Orbital => (Length::from_mm(150), across),
    };
    // Nine times that pressure, so that the force on any face is whole.
    let sections = 9e9;
    let work = work_of(&WorkAsk {
        face,
        force_mn: 16 * face.mm() * face.mm(),
        action,
        throw,
        speed_per_min: per_min as i64,
        time_ms: 144_000 * 1_000_000_000,
    });
    let reference_m_per_s = std::f64::consts::PI * 0.015 * 75.0;
    work.reference_sections() / sections * reference_m_per_s
}

fn miner_figures(inputs: &Value) -> Figures {
    let loads = applied_rated(inputs);
    let damage = miner(&loads);
    let shares = loads.iter().map(|load| miner(&[*load]) / damage);
    Figures::of([
        ("damage", damage),
        ("damage_per_cycle", damage),
        ("cycles_to_damage_1", 1.0 / damage),
    ])
    .with("share_by_load", shares)
}

fn applied_rated(inputs: &Value) -> Vec<(f64, f64)> {
    if let Some(pairs) = inputs["applied_rated"].as_array() {
        let pair = |pair: &Value| (numbers(pair)[0], numbers(pair)[1]);
        return pairs.iter().map(pair).collect();
    }
    let applied = numbers(&inputs["time_per_cycle_h"]);
    applied
        .into_iter()
        .zip(numbers(&inputs["rated_life_h"]))
        .collect()
}
