//! Goal: several machines, and the hand, share a step, each with its own pads; all that follows is of each.
//!
//! Method: a two-step on the medium saloon with the big orbital, a spot machine and pencil pads. Areas by
//! panel are the class's; which machine a panel takes is common practice, no source.

mod kit;
mod minutes;
mod parts;
mod refused;

use fettlebook_model::Command;
use fettlebook_model::job::{Routine, Share, Step, StepSets};
use fettlebook_model::make::{Figures, Grade, MachineFigures, PadMaterial};
use fettlebook_model::plan::{Plan, StepPlan, plan_job};
use fettlebook_model::reach::Reach;
use fettlebook_model::wear::Action;
use fettlebook_quantity::Length;
use fettlebook_shed::step;

use crate::shop::{Shop, foam, id, make, orbital, plate, routine, saloon_job};

/// What a spot machine or the hand works of a step that this names.
fn share(of: &str, reach: Reach, pad: &str, liquid: &str) -> Share {
    let machine = match reach {
        Reach::Big => Some("orbital-150"),
        Reach::Spot => Some("orbital-75"),
        Reach::Pencil => Some("spindle-30"),
        Reach::Hand => None,
    };
    Share {
        reach,
        worked: Step {
            machine_make: machine.map(id),
            ..step(&format!("{of}-{reach}"), pad, liquid)
        },
    }
}

/// The cut that three machines share.
fn cut() -> Step {
    let by = |reach, pad| share("cut", reach, pad, "coarse-compound-1l");
    Step {
        shares: vec![
            by(Reach::Spot, "coarse-foam-80"),
            by(Reach::Pencil, "pencil-foam-30"),
        ],
        ..step("cut", "coarse-foam-150", "coarse-compound-1l")
    }
}

/// The stocked shop with a spot machine, a spindle tool and applicators, their pads and plates, and its saloon
/// to be cut on Thursday.
fn shop_of(cut: Step) -> Shop {
    let mut shop = Shop::stocked().shipped();
    let spot = MachineFigures {
        throw_mm: Length::from_mm(12),
        max_speed_per_min: 5_500,
        vibration_mm_per_s2: Some(2_600),
        spot: true,
        ..orbital()
    };
    let spindle = MachineFigures {
        action: Action::Rotary,
        throw_mm: Length::ZERO,
        vibration_mm_per_s2: Some(900),
        spot: true,
        ..orbital()
    };
    let Figures::Pad(mut applicator) = foam(Grade::Fine, 100) else {
        panic!("a pad")
    };
    applicator.material = PadMaterial::Applicator;
    for (key, figures, count) in [
        ("orbital-75", Figures::Machine(spot), 1),
        ("spindle-30", Figures::Machine(spindle), 1),
        ("plate-75-m8", plate(70, Some(12_000)), 1),
        ("plate-20-m8", plate(20, Some(12_000)), 1),
        ("coarse-foam-80", foam(Grade::Coarse, 80), 4),
        ("pencil-foam-30", foam(Grade::Fine, 30), 2),
        ("hand-applicator", Figures::Pad(applicator), 2),
    ] {
        let make = make(key, figures);
        shop.say(Command::CreateMake { make });
        shop.receive(key, count);
    }
    book(&mut shop, "shared", cut);
    shop
}

/// Sets up a routine of this step alone and books it on the saloon.
fn book(shop: &mut Shop, key: &str, cut: Step) {
    book_all(shop, key, vec![cut]);
}

/// Sets up a routine of these steps and books it on the saloon.
fn book_all(shop: &mut Shop, key: &str, steps: Vec<Step>) {
    let routine = Routine {
        towel_make: Some(id("edgeless-towel-400g")),
        ..routine(key, steps)
    };
    shop.say(Command::CreateRoutine { routine });
    let mut job = saloon_job(key, "2026-03-05 08:00");
    job.routine = id(key);
    shop.say(Command::BookJob { job });
}

fn plan(shop: &Shop, job: &str) -> Plan {
    plan_job(&shop.book, shop.book.job(&id(job)).unwrap()).unwrap()
}

fn part<'a>(plan: &'a Plan, name: &str) -> &'a StepPlan {
    let mut steps = plan.steps.iter();
    steps.find(|step| step.name == id(name)).unwrap()
}

/// Sections, pads, µL and ms of a part.
fn needs(part: &StepPlan) -> (i64, i64, i64, i64) {
    (
        part.section_count,
        part.pad_count,
        part.volume.ul(),
        part.time_ms,
    )
}

/// Source: geometry by hand. Large panels 9.31 m² over 0.18225 are 51.1 sections of 450 mm: 52; low ones 2.55 m²
/// over 0.081 are 31.5 of 300 mm: 32; edges 0.34 m² are 4.2: 5. Pads 52/18, 32/18 and 5/25: 3, 2, 1. Dots of 250 µL:
/// 3·6 + 49·3, 2·2 + 30·1 and 1 + 4·1. Time: 52 · 144 s; 80 mm on 300 mm in 7 strokes, 1780 mm a pass, 4 passes
/// at 80 mm/s, 89 s · 32; the contours 340 000 / (30 · 80) · 4 s.
#[test]
fn each_machine_has_its_own_area_sections_pads_dots_and_minutes() {
    let plan = plan(&shop_of(cut()), "shared");
    let areas = |name| part(&plan, name).area.mm2();
    assert_eq!(
        ["cut", "cut-spot", "cut-pencil"].map(areas),
        [9_310_000, 2_550_000, 340_000]
    );
    assert_eq!(needs(part(&plan, "cut")), (52, 3, 41_250, 7_488_000));
    assert_eq!(needs(part(&plan, "cut-spot")), (32, 2, 8_500, 2_848_000));
    assert_eq!(needs(part(&plan, "cut-pencil")), (5, 1, 1_250, 566_667));
    // 12.2 m² wiped over 8 sides of 0.51 m² are 2.99 towels, as of a step that one machine works.
    assert_eq!((plan.wiped.mm2(), plan.towel_count), (12_200_000, 3));
    assert!(plan.steps.iter().all(|step| step.of == id("cut")));
}

/// Source: arithmetic: two sets a section are twice the sections, worked and wiped; 104 and 64 sections on pads of
/// 18 are 6 and 4; 6·6 + 98·3 and 4·2 + 60·1 dots.
#[test]
fn a_deeper_cut_is_more_sections_pads_liquid_minutes_and_towels_for_each_machine() {
    let mut shop = shop_of(cut());
    let was = shop.book.job(&id("shared")).unwrap().as_ref().clone();
    let mut job = was.clone();
    job.sets = vec![StepSets {
        step: id("cut"),
        count: 2,
    }];
    shop.say(Command::EditJob { was, job });
    let plan = plan(&shop, "shared");
    assert_eq!(needs(part(&plan, "cut")), (104, 6, 82_500, 2 * 7_488_000));
    assert_eq!(
        needs(part(&plan, "cut-spot")),
        (64, 4, 17_000, 2 * 2_848_000)
    );
    let pencil = part(&plan, "cut-pencil");
    assert_eq!((pencil.section_count, pencil.time_ms), (10, 1_133_333));
    // The paint is no more; what is wiped of it is.
    assert_eq!(
        (plan.area.mm2(), plan.wiped.mm2()),
        (12_200_000, 24_400_000)
    );
    assert_eq!(plan.towel_count, 6);
}
