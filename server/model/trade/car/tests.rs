//! Class totals, panel areas, the size formula and exact sharing.
//!
//! The 1985 set of outer dimensions is checked in `tests/published.rs`.

use fettlebook_quantity::{Area, Length};
use proptest::prelude::{any, prop_assert_eq, proptest};

use super::{CarClass, Dimensions, crowned, share_out, total_from_dimensions};
use crate::trade::panel::Panel;

fn mm(value: i64) -> Length {
    Length::from_mm(value)
}

/// Basis: derived, from sizes from memory.
#[test]
fn each_class_has_its_stated_total() {
    let hundredths: Vec<_> = CarClass::ALL
        .iter()
        .map(|class| class.total().mm2() / 10_000)
        .collect();
    assert_eq!(
        hundredths,
        [
            970, 1070, 1140, 1220, 1320, 1320, 920, 1380, 1580, 1480, 2040
        ]
    );
}

/// Basis: derived; the example of a medium saloon, m² times a hundred.
#[test]
fn a_medium_saloon_has_its_stated_panels() {
    let stated = [
        142, 142, 103, 78, 78, 65, 65, 51, 51, 78, 78, 106, 111, 19, 19, 12, 12, 5, 5,
    ];
    let panels = CarClass::MediumSaloon.default_panels();
    let hundredths: Vec<_> = panels.iter().map(|(_, area)| area.mm2() / 10_000).collect();
    assert_eq!(hundredths, stated);
    assert_eq!(
        share_out(Area::from_mm2(12_200_000), CarClass::MediumSaloon),
        panels
    );
}

#[test]
fn a_sports_car_and_a_van_have_no_rear_doors() {
    for class in [CarClass::Sports, CarClass::Van] {
        let panels = share_out(class.total(), class);
        assert_eq!(panels.len(), 17);
        assert!(
            panels
                .iter()
                .all(|(panel, _)| *panel != Panel::RearDoorLeft)
        );
    }
}

/// Source: arithmetic: 0.44 (2 × 4.51 × 1.38 + 2 × 1.68 × 1.38 + 4.51 × 1.68) = 10.850928 m².
#[test]
fn overall_size_gives_a_total() {
    let size = Dimensions::new(mm(4_510), mm(1_680), mm(1_380)).unwrap();
    assert_eq!(total_from_dimensions(size, 440), Area::from_mm2(10_850_928));
}

/// Source: arithmetic: 1.2 m × 0.9 m × 1.05 = 1.134 m².
#[test]
fn a_measured_panel_gets_its_crown() {
    assert_eq!(
        crowned(Area::from_mm2(1_080_000), 1_050),
        Area::from_mm2(1_134_000)
    );
}

#[test]
fn a_size_no_car_has_is_refused_by_field() {
    let refusal = |l, w, h| {
        Dimensions::new(mm(l), mm(w), mm(h))
            .unwrap_err()
            .to_string()
    };
    assert!(refusal(451, 1_680, 1_380).contains("length of 451 mm is outside 1500 to 12000 mm"));
    assert!(refusal(4_510, 3_001, 1_380).contains("width"));
    assert!(refusal(4_510, 1_680, 799).contains("height"));
    let stored = r#"{"length_mm":451,"width_mm":1680,"height_mm":1380}"#;
    assert!(serde_json::from_str::<Dimensions>(stored).is_err());
}

proptest! {
    #[test]
    fn shares_add_up_to_the_total_exactly(mm2 in 0_i64..1_000_000_000, pick in any::<usize>()) {
        let class = CarClass::ALL[pick % CarClass::ALL.len()];
        let shares = share_out(Area::from_mm2(mm2), class);
        prop_assert_eq!(shares.iter().map(|(_, area)| area.mm2()).sum::<i64>(), mm2);
    }
}
