//! What a job needs, by geometry and the book's policy.

mod left_open;

use fettlebook_model::car::{AreaBasis, Dimensions};
use fettlebook_model::job::{Car, Job, PanelNote, Routine, SundryNeed};
use fettlebook_model::make::{Figures, Grade, MachineFigures, SundryFigures, Unit};
use fettlebook_model::panel::Panel;
use fettlebook_model::plan::{Plan, panels, plan_job, plan_sections};
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::wear::Action;
use fettlebook_model::{Command, Reason};
use fettlebook_quantity::{Area, Length};

use crate::shop::{Shop, foam, id, make, orbital, routine, saloon_job, step};

/// The plan of the saloon under a routine, by default the two-step.
fn plan_of(shop: &mut Shop, by: Option<Routine>) -> Plan {
    let mut job = saloon_job("thursday", "2026-03-05 08:00");
    if let Some(routine) = by {
        job.routine = routine.id.clone();
        shop.say(Command::CreateRoutine { routine });
    }
    shop.say(Command::BookJob { job });
    plan_job(&shop.book, shop.book.job(&id("thursday")).unwrap()).unwrap()
}

fn note(panel: Panel, area_mm2: i64) -> PanelNote {
    PanelNote {
        panel,
        area_mm2: Some(Area::from_mm2(area_mm2)),
        left_out: false,
        split: None,
        film_um: None,
    }
}

/// Source: geometry by hand: a medium saloon's 12.2 m² over 0.45² · 0.9 = 0.18225 m² are 66.94 sections,
/// with no panel below a quarter of one: 67. 67/18 is 4 pads, 67/25 is 3; 4·6 + 63·3 = 213 dots of
/// 250 µL, 3·6 + 64·3 = 210.
/// 24.4 m² wiped over 8 sides of 0.51 m² are 5.98 towels: 6.
#[test]
fn a_two_step_on_a_medium_saloon_needs_what_the_geometry_says() {
    let plan = plan_of(&mut Shop::stocked().shipped(), None);
    let [cut, finish] = plan.steps.as_slice() else {
        panic!("two steps")
    };
    let needs = |step: &fettlebook_model::plan::StepPlan| {
        (step.section_count, step.pad_count, step.volume.ul())
    };
    assert_eq!(needs(cut), (67, 4, 53_250));
    assert_eq!(needs(finish), (67, 3, 52_500));
    assert_eq!((cut.section_time_ms, cut.time_ms), (144_000, 67 * 144_000));
    assert_eq!((cut.stroke_count, cut.spare_count), (5, 0));
    assert_eq!((plan.towel_count, plan.area.mm2()), (6, 12_200_000));
    assert_eq!(plan.area_basis, AreaBasis::ClassDefault);
}

/// Source: geometry time = area / (d·v) · p by hand: two mirrors of 0.05 m² with a 30 mm pad at
/// 50 mm/s and 4 passes: 100 000 / (30·50) · 4 = 266.667 s, in one stroke along the contour. Of the
/// 0.081 m² of a spot section each has 0.62, together 1.23: 2.
#[test]
fn a_pencil_pad_follows_contours_instead_of_working_sections() {
    let mut shop = Shop::stocked().shipped();
    let spindle = MachineFigures {
        action: Action::Rotary,
        throw_mm: Length::ZERO,
        spot: true,
        cordless: false,
        ..orbital()
    };
    for (key, figures) in [
        ("spindle-tool", Figures::Machine(spindle)),
        ("pencil-foam-30", foam(Grade::Fine, 30)),
    ] {
        shop.say(Command::CreateMake {
            make: make(key, figures),
        });
    }
    let mut mirrors = step("mirrors", "pencil-foam-30", "fine-polish-500ml");
    mirrors.machine_make = Some(id("spindle-tool"));
    mirrors.panels = vec![Panel::MirrorLeft, Panel::MirrorRight];
    let plan = plan_of(&mut shop, Some(routine("mirrors-only", vec![mirrors])));
    let step = &plan.steps[0];
    assert_eq!((step.time_ms, step.section_time_ms), (266_667, 133_334));
    assert_eq!((step.section_count, step.stroke_count), (2, 1));
    assert_eq!((step.area.mm2(), plan.area.mm2()), (100_000, 100_000));
    assert_eq!(plan.panels.len(), 2);
}

/// Source: geometry by hand: a section of 450 mm less a tenth is 182 250 mm²; under a 30 mm pad
/// 182 250 / (30·50) · 4 = 486 s, under a 150 mm pad 144 s.
#[test]
fn sections_outside_any_car_take_the_time_of_their_area_or_strokes() {
    let mut shop = Shop::stocked().shipped();
    shop.say(Command::CreateMake {
        make: make("pencil-foam-30", foam(Grade::Fine, 30)),
    });
    for (pad, time_ms) in [("pencil-foam-30", 486_000), ("fine-foam-150", 144_000)] {
        let step = step("touch-up", pad, "fine-polish-500ml");
        let plan = plan_sections(&shop.book, &step, 1, "step").unwrap();
        assert_eq!(plan.time_ms, time_ms, "{pad}");
    }
}

/// Source: Archard's law by hand: half the sliding speed is half the work; the reference is 4500/min.
#[test]
fn a_step_may_state_its_own_machine_speed() {
    let mut shop = Shop::stocked().shipped();
    let mut slow = step("cut", "coarse-foam-150", "coarse-compound-1l");
    slow.speed_per_min = Some(2_250);
    let plan = plan_of(&mut shop, Some(routine("slow", vec![slow])));
    assert_eq!(plan.steps[0].work().micro_sections(), 33_500_000);
}

#[test]
fn a_panel_that_its_class_has_not_is_there_once_it_is_measured() {
    let mut shop = Shop::stocked().shipped();
    shop.edit_saloon(|car| car.class = "van".parse().unwrap());
    let has_rear_door = |shop: &Shop| {
        let car = shop.book.car(&id("medium-saloon-silver")).unwrap();
        panels(car, shop.book.policy())
            .iter()
            .any(|facts| facts.panel == Panel::RearDoorLeft)
    };
    assert!(!has_rear_door(&shop));
    shop.edit_saloon(|car| car.panels.push(note(Panel::RearDoorLeft, 900_000)));
    assert!(has_rear_door(&shop));
}

#[test]
fn a_spot_machine_works_smaller_sections() {
    let mut shop = Shop::stocked().shipped();
    shop.edit_orbital(|orbital| orbital.spot = true);
    let plan = plan_of(&mut shop, None);
    // Geometry: a section of 300 mm less a tenth is 81 000 mm², and 12.2 m² are 150.6 of them.
    assert_eq!(plan.steps[0].section_count, 151);
}

#[test]
fn a_step_that_works_none_of_the_panels_left_is_not_planned() {
    let mut shop = Shop::stocked().shipped();
    let mut roof = step("roof", "fine-foam-150", "fine-polish-500ml");
    roof.panels = vec![Panel::Roof];
    let mut doors = step("doors", "coarse-foam-150", "coarse-compound-1l");
    doors.panels = vec![Panel::FrontDoorLeft];
    shop.say(Command::CreateRoutine {
        routine: routine("roof-and-door", vec![roof, doors]),
    });
    shop.say(Command::BookJob {
        job: Job {
            routine: id("roof-and-door"),
            left_out: vec![Panel::Roof],
            ..saloon_job("thursday", "2026-03-05 08:00")
        },
    });
    let plan = plan_job(&shop.book, shop.book.job(&id("thursday")).unwrap()).unwrap();
    let names: Vec<_> = plan.steps.iter().map(|step| step.name.clone()).collect();
    assert_eq!(names, [id("doors")]);
    assert_eq!(plan.panels.len(), 1);
}

/// Source: geometry by hand: a measured outline of 1.40 m² under the crown allowance of 1.05 is 1.47 m²; a
/// section of 450 mm less a tenth is 182 250 mm², so that the car has 66.94 + 0.05 / 0.18225 = 67.2 of them.
#[test]
fn a_measured_panel_goes_by_its_outline_and_the_crown() {
    let mut shop = Shop::stocked().shipped();
    shop.edit_saloon(|car| car.panels.push(note(Panel::Bonnet, 1_400_000)));
    let plan = plan_of(&mut shop, None);
    let bonnet = plan
        .panels
        .iter()
        .find(|facts| facts.panel == Panel::Bonnet);
    let bonnet = bonnet.unwrap();
    assert_eq!(
        (bonnet.area.mm2(), bonnet.basis),
        (1_470_000, AreaBasis::Measured)
    );
    assert_eq!(plan.steps[0].section_count, 68);
    assert_eq!(plan.area_basis, AreaBasis::ClassDefault);
    shop.set_policy(PolicyKey::CrownPermille, 1_000);
    let car = shop.book.car(&id("medium-saloon-silver")).unwrap();
    let flat = panels(car, shop.book.policy());
    assert_eq!(flat[0].area.mm2(), 1_400_000);
}

#[test]
fn a_car_measured_all_over_is_known_by_measurement() {
    let mut shop = Shop::stocked().shipped();
    shop.edit_saloon(|car| {
        car.panels = Panel::ALL
            .iter()
            .map(|panel| note(*panel, 500_000))
            .collect();
    });
    assert_eq!(plan_of(&mut shop, None).area_basis, AreaBasis::Measured);
}

/// Source: k (2LH + 2WH + LW) of a box, by hand: 0.44 (2·4650·1450 + 2·1800·1450 + 4650·1800)
/// = 0.44 · 27 075 000 = 11 913 000 mm².
#[test]
fn a_car_of_known_size_goes_by_its_dimensions() {
    let mut shop = Shop::stocked().shipped();
    let size = [4_650, 1_800, 1_450].map(Length::from_mm);
    shop.edit_saloon(|car| {
        car.dimensions = Some(Dimensions::new(size[0], size[1], size[2]).unwrap());
    });
    let plan = plan_of(&mut shop, None);
    assert_eq!(plan.area.mm2(), 11_913_000);
    assert_eq!(plan.area_basis, AreaBasis::Dimensions);
}

/// Source: geometry by hand: 66.94 sections without the roof's 1.42 / 0.18225 = 7.79 are 59.15.
#[test]
fn a_panel_left_out_of_the_car_is_never_worked() {
    let mut shop = Shop::stocked().shipped();
    shop.edit_saloon(|car: &mut Car| {
        car.panels.push(PanelNote {
            left_out: true,
            split: None,
            area_mm2: None,
            ..note(Panel::Roof, 0)
        });
    });
    let plan = plan_of(&mut shop, None);
    assert!(plan.panels.iter().all(|facts| facts.panel != Panel::Roof));
    assert_eq!(plan.steps[0].section_count, 60);
}

/// Source: by hand: 12.2 m² at 1.5 m of tape each is 18.3 m, and 2 m a job; 12.2 pairs are 13.
#[test]
fn sundries_go_by_the_job_and_the_area() {
    let mut shop = Shop::stocked().shipped();
    let tape = SundryFigures {
        unit: Unit::Millimetre,
        pack_quantity: 50_000,
    };
    shop.say(Command::CreateMake {
        make: make("masking-tape-50m", Figures::Sundry(tape)),
    });
    let mut taped = routine(
        "taped",
        vec![step("cut", "coarse-foam-150", "coarse-compound-1l")],
    );
    let need = |make, per_job_quantity, per_m2_quantity| SundryNeed {
        make: id(make),
        per_job_quantity,
        per_m2_quantity,
    };
    taped.sundries = vec![
        need("masking-tape-50m", 2_000, 1_500),
        need("nitrile-gloves", 0, 1),
    ];
    let plan = plan_of(&mut shop, Some(taped));
    let needs = [(id("masking-tape-50m"), 20_300), (id("nitrile-gloves"), 13)];
    assert_eq!(plan.sundries, needs);
    assert_eq!(plan.towel_count, 0);
}

/// Source: geometry by hand: ⌈sections · sides / 8⌉.
#[test]
fn towels_go_by_the_sides_a_section_where_the_routine_or_the_book_says_so() {
    let by_section = |plan: &Plan, sides: i64| {
        let sections: i64 = plan.steps.iter().map(|step| step.section_count).sum();
        (sections * sides + 7) / 8
    };
    for sides in [1, 2] {
        let mut shop = Shop::stocked().shipped();
        shop.set_policy(PolicyKey::CellsPerSection, sides);
        let plan = plan_of(&mut shop, None);
        assert_eq!(plan.towel_count, by_section(&plan, sides));
    }
    let mut shop = Shop::stocked().shipped();
    let steps = shop.book.routine(&id("two-step")).unwrap().steps.clone();
    let mut wet = routine("wet", steps);
    wet.towel_make = Some(id("edgeless-towel-400g"));
    wet.cells_per_section = Some(2);
    let plan = plan_of(&mut shop, Some(wet));
    assert_eq!(plan.towel_count, by_section(&plan, 2));
}

/// Source: arithmetic: 24.4 m² wiped over 4 sides of 0.51 m² are 11.96; over 8 of 1.02 m² 2.99; over 16
/// that the book counts itself, 2.99 again.
#[test]
fn towels_go_by_folds_and_by_the_area_of_a_side() {
    for (key, value, towels) in [
        (PolicyKey::TowelFolds, 1, 12),
        (PolicyKey::TowelSideMm2, 1_020_000, 3),
        (PolicyKey::CellsPerTowel, 16, 3),
    ] {
        let mut shop = Shop::stocked().shipped();
        shop.set_policy(key, value);
        assert_eq!(plan_of(&mut shop, None).towel_count, towels, "{key}");
    }
}

/// Source: by hand: 4 pads at 10 dots and 63 further sections at 2 are 166 dots of 250 µL.
#[test]
fn a_liquid_may_state_its_own_dots() {
    let mut shop = Shop::stocked().shipped();
    let was = shop.book.make(&id("coarse-compound-1l")).unwrap();
    let was = was.as_ref().clone();
    let mut make = was.clone();
    if let Figures::Liquid(liquid) = &mut make.figures {
        (liquid.prime_dot_count, liquid.refresh_dot_count) = (Some(10), Some(2));
    }
    shop.say(Command::EditMake { was, make });
    assert_eq!(plan_of(&mut shop, None).steps[0].volume.ul(), 41_500);
}

#[test]
fn figures_that_do_not_go_together_are_refused_where_they_stand() {
    let mut shop = Shop::stocked().shipped();
    let mut odd = step("cut", "coarse-foam-150", "coarse-compound-1l");
    odd.pass_count = Some(50);
    let refused = shop
        .try_say(Command::CreateRoutine {
            routine: routine("odd", vec![odd]),
        })
        .unwrap_err();
    assert_eq!(
        (refused.reason, refused.field.as_str()),
        (Reason::FieldInvalid, "routine.steps.cut.pass_count")
    );
}
