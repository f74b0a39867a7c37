//! Goal: the wear and area formulas agree with what others have published.
//!
//! Method: every case of `cases/wear.json` is computed with our functions and compared at the case's
//! own tolerance, and with the printed figure at the tolerance of its rounding; each case names its
//! source. A case or a figure without an implementation fails. The area formula runs over the 205
//! rows of `cases/vehicle_dims_1985.csv`.

#[cfg(test)]
mod published {
    use fettlebook_model::car::{CarClass, Dimensions, total_from_dimensions};
    use fettlebook_model::wear::{
        disc_mean_speed_m_per_s, miner, miner_remaining, orbit_speed_m_per_s,
    };
    use fettlebook_quantity::Length;
    use serde_json::Value;

    const WEAR_CASES: &str = include_str!("cases/wear.json");
    const CARS_1985: &str = include_str!("cases/vehicle_dims_1985.csv");

    /// Sources: beside each case in the file.
    #[test]
    fn every_published_wear_case_agrees_at_its_tolerance() {
        let file: Value = serde_json::from_str(WEAR_CASES).unwrap();
        let cases = file["cases"].as_array().unwrap();
        assert_eq!(cases.len(), 10);
        for case in cases {
            let computed = compute(case);
            let expected = case["expected"].as_object().unwrap();
            for (figure, value) in expected {
                if *figure == "mean_speed_m_s" && is_informative(case) {
                    continue;
                }
                let ours = computed
                    .iter()
                    .find(|(name, _)| name == figure)
                    .unwrap_or_else(|| panic!("{}: {figure} is not computed", case["id"]));
                let relative = case["tolerance"][figure]["rel"].as_f64().unwrap_or(1e-12);
                agree(case, figure, &ours.1, &numbers(value), |value| {
                    relative * value.abs()
                });
                let printed = &case["published"][figure];
                if !printed.is_null() {
                    let absolute = printed["abs_tol"].as_f64().unwrap();
                    agree(case, figure, &ours.1, &numbers(&printed["value"]), |_| {
                        absolute
                    });
                }
            }
        }
    }

    /// The free spin of an orbiting pad is left out on purpose, so its combined speed is not ours.
    fn is_informative(case: &Value) -> bool {
        case["computation"]
            .as_str()
            .unwrap()
            .ends_with("(informative)")
    }

    fn agree(
        case: &Value,
        figure: &str,
        ours: &[f64],
        theirs: &[f64],
        within: impl Fn(f64) -> f64,
    ) {
        assert_eq!(ours.len(), theirs.len(), "{}: {figure}", case["id"]);
        for (our, their) in ours.iter().zip(theirs) {
            let difference = (our - their).abs();
            assert!(
                difference <= within(*their),
                "{}: {figure} is {our}, published {their} ({})",
                case["id"],
                case["source"]["title"]
            );
        }
    }

    fn numbers(value: &Value) -> Vec<f64> {
        match value.as_array() {
            Some(list) => list.iter().map(|one| one.as_f64().unwrap()).collect(),
            None => vec![value.as_f64().unwrap()],
        }
    }

    /// Our figures for a case, by the names the case gives them.
    fn compute(case: &Value) -> Vec<(&'static str, Vec<f64>)> {
        let inputs = &case["inputs"];
        let input = |name: &str| inputs[name].as_f64().unwrap();
        match case["computation"].as_str().unwrap() {
            "disc_mean_speed" => {
                let speed = disc_mean_speed_m_per_s(input("diameter_m"), input("rpm"));
                vec![("mean_speed_m_s", vec![speed])]
            }
            "friction_power" => {
                let speed = disc_mean_speed_m_per_s(input("diameter_m"), input("rpm"));
                let power = input("mu") * input("normal_force_N") * speed;
                vec![("mean_speed_m_s", vec![speed]), ("power_W", vec![power])]
            }
            "orbit_speed" => {
                let speed = orbit_speed_m_per_s(input("throw_diameter_m"), input("opm"));
                vec![("speed_m_s", vec![speed])]
            }
            "compound_mean_speed (informative)" => {
                let orbit = orbit_speed_m_per_s(input("throw_diameter_m"), input("opm"));
                let spin = disc_mean_speed_m_per_s(input("diameter_m"), input("spin_rpm"));
                vec![
                    ("orbit_only_m_s", vec![orbit]),
                    ("spin_only_m_s", vec![spin]),
                ]
            }
            "miner_damage" => miner_figures(inputs),
            "miner_remaining" => {
                let damage = miner(&applied_rated(inputs)).unwrap();
                let remaining = miner_remaining(damage, input("next_rated"));
                vec![
                    ("damage", vec![damage]),
                    ("remaining_at_next", vec![remaining]),
                ]
            }
            other => panic!("{}: {other} has no implementation", case["id"]),
        }
    }

    fn miner_figures(inputs: &Value) -> Vec<(&'static str, Vec<f64>)> {
        let loads = applied_rated(inputs);
        let damage = miner(&loads).unwrap();
        let shares = loads
            .iter()
            .map(|load| miner(&[*load]).unwrap() / damage)
            .collect();
        vec![
            ("damage", vec![damage]),
            ("damage_per_cycle", vec![damage]),
            (
                "cycles_to_damage_1",
                vec![miner_remaining(0.0, 1.0) / damage],
            ),
            ("share_by_load", shares),
        ]
    }

    fn applied_rated(inputs: &Value) -> Vec<(f64, f64)> {
        if let Some(pairs) = inputs["applied_rated"].as_array() {
            return pairs
                .iter()
                .map(|pair| (numbers(pair)[0], numbers(pair)[1]))
                .collect();
        }
        let applied = numbers(&inputs["time_per_cycle_h"]);
        applied
            .into_iter()
            .zip(numbers(&inputs["rated_life_h"]))
            .collect()
    }

    /// A row of the set: the box's factor by body style, and the size.
    fn cars() -> Vec<(i64, Dimensions)> {
        CARS_1985.lines().skip(1).map(car).collect()
    }

    fn car(row: &str) -> (i64, Dimensions) {
        let fields: Vec<_> = row.split(',').collect();
        let mm = |field: usize| {
            let digits = fields[field].replace('.', "");
            Length::from_mm(digits.parse().unwrap())
        };
        let class = if fields[0] == "wagon" {
            CarClass::Estate
        } else {
            CarClass::MediumSaloon
        };
        (
            class.k_permille(),
            Dimensions::new(mm(2), mm(3), mm(4)).unwrap(),
        )
    }

    /// Source: outer dimensions of the 1985 automobile set of the UCI repository, as shipped in
    /// statsmodels 0.15.0; the band of 8.4–13.7 m² is derived from published totals.
    #[test]
    fn every_car_of_1985_has_a_believable_painted_area() {
        let cars = cars();
        assert_eq!(cars.len(), 205);
        for (k_permille, size) in cars {
            let mm2 = total_from_dimensions(size, k_permille).mm2();
            assert!(
                (8_400_000..=13_700_000).contains(&mm2),
                "{size:?}: {mm2} mm²"
            );
        }
    }

    /// Source: the same set; a car that is larger in every direction has more paint.
    #[test]
    fn a_larger_car_of_1985_has_more_paint() {
        let cars = cars();
        let no_larger = |a: Dimensions, b: Dimensions| {
            a.length() <= b.length() && a.width() <= b.width() && a.height() <= b.height()
        };
        let mut compared = 0;
        for (_, small) in &cars {
            for (_, large) in &cars {
                if small != large && no_larger(*small, *large) {
                    let area = |size| total_from_dimensions(size, 440);
                    assert!(area(*small) < area(*large), "{small:?} {large:?}");
                    compared += 1;
                }
            }
        }
        assert!(compared > 1_000, "{compared}");
    }
}
