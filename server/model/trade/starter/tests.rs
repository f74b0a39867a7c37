//! Starter kits: whole, each panel finished once, and nothing made up that protects people or paint.

use fettlebook_quantity::Volume;

use super::{StarterKit, usual_tare};
use crate::trade::make::Figures;
use crate::trade::panel::Panel;

#[test]
fn every_kit_has_its_makes_and_two_routines_that_name_nothing_else() {
    for (kit, makes) in [
        (StarterKit::Big, 12),
        (StarterKit::BigSmall, 15),
        (StarterKit::BigSmallPencil, 18),
    ] {
        let ids: Vec<_> = kit.makes().into_iter().map(|one| one.make.id).collect();
        assert_eq!(ids.len(), makes, "{kit}: {ids:?}");
        let routines = kit.routines();
        assert_eq!(routines.len(), 2, "{kit}");
        for routine in &routines {
            assert!(routine.makes().all(|make| ids.contains(make)), "{kit}");
        }
    }
}

/// Each panel is finished once, so that none is forgotten and none is worked by two machines.
#[test]
fn each_panel_is_finished_once_by_one_of_the_machines() {
    for kit in StarterKit::ALL {
        for routine in kit.routines() {
            let after_cut = routine
                .steps
                .iter()
                .filter(|step| step.name.as_str() != "cut");
            let mut worked: Vec<Panel> = after_cut.flat_map(|step| step.panels.clone()).collect();
            worked.sort();
            assert_eq!(worked, Panel::ALL, "{kit} {}", routine.id);
        }
    }
}

/// What only the thing itself can say is not made up.
#[test]
fn what_protects_people_and_paint_is_left_open() {
    for kit in StarterKit::ALL {
        for one in kit.makes() {
            match &one.make.figures {
                Figures::Plate(plate) => assert_eq!(plate.rated_speed_per_min, None),
                Figures::Machine(machine) => {
                    assert_eq!(machine.vibration_mm_per_s2, None);
                    assert_eq!(machine.noise_db, None);
                }
                Figures::Liquid(_) => assert!(one.make.note.contains("data sheet")),
                _ => {}
            }
        }
    }
}

/// Arithmetic of the formula.
#[test]
fn an_empty_bottle_is_taken_to_weigh_what_its_size_says() {
    assert_eq!(usual_tare(Volume::from_ul(500_000)).mg(), 55_000);
    assert_eq!(usual_tare(Volume::from_ul(1_000_000)).mg(), 90_000);
}
