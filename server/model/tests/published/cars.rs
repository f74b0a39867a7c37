//! Goal: the area formula gives believable cars.
//!
//! Method: it runs over the 205 rows of `cases/vehicle_dims_1985.csv`.

use crate::trade::car::{CarClass, Dimensions, total_from_dimensions};
use fettlebook_quantity::Length;

const CARS_1985: &str = include_str!("../cases/vehicle_dims_1985.csv");

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
