//! Groups A and B: sliding speeds and cumulative damage.

use fettlebook_model::wear::{
    disc_mean_speed_m_per_s, miner, miner_remaining, orbit_speed_m_per_s,
};
use serde_json::Value;

use crate::case::{Figures, numbers};

/// Our figures for a case, or `None` where it is of another group.
pub(crate) fn compute(computation: &str, inputs: &Value) -> Option<Figures> {
    let input = |name: &str| inputs[name].as_f64().unwrap();
    let disc = || disc_mean_speed_m_per_s(input("diameter_m"), input("rpm"));
    let orbit = || orbit_speed_m_per_s(input("throw_diameter_m"), input("opm"));
    let figures = match computation {
        "disc_mean_speed" => Figures::of([("mean_speed_m_s", disc())]),
        "friction_power" => {
            let power = input("mu") * input("normal_force_N") * disc();
            Figures::of([("mean_speed_m_s", disc()), ("power_W", power)])
        }
        "orbit_speed" => Figures::of([("speed_m_s", orbit())]),
        // The free spin of an orbiting pad is left out on purpose: the combined speed is not ours.
        "compound_mean_speed (informative)" => {
            let spin = disc_mean_speed_m_per_s(input("diameter_m"), input("spin_rpm"));
            Figures::of([("orbit_only_m_s", orbit()), ("spin_only_m_s", spin)])
                .without("mean_speed_m_s")
        }
        "miner_damage" => miner_figures(inputs),
        "miner_remaining" => {
            let damage = miner(&applied_rated(inputs)).unwrap();
            let remaining = miner_remaining(damage, input("next_rated"));
            Figures::of([("damage", damage), ("remaining_at_next", remaining)])
        }
        _ => return None,
    };
    Some(figures)
}

fn miner_figures(inputs: &Value) -> Figures {
    let loads = applied_rated(inputs);
    let damage = miner(&loads).unwrap();
    let shares = loads.iter().map(|load| miner(&[*load]).unwrap() / damage);
    Figures::of([
        ("damage", damage),
        ("damage_per_cycle", damage),
        ("cycles_to_damage_1", miner_remaining(0.0, 1.0) / damage),
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
