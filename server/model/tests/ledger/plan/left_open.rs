//! What a step leaves open: force and speed by machine and grade, and how its pads are cleaned.

use fettlebook_model::Command;
use fettlebook_model::cleaning::Cleaning;
use fettlebook_model::job::Step;
use fettlebook_model::make::{Figures, Grade, MachineFigures};
use fettlebook_model::panel::Panel;
use fettlebook_model::plan::{StepPlan, plan_sections};
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::tool::ToolKind;
use fettlebook_model::wear::Press;

use super::plan_of;
use crate::shop::{Shop, foam, id, liquid, make, orbital, routine, step, tool};

/// A step that says neither force nor speed.
fn open(pad: &str, liquid: &str) -> Step {
    Step {
        arm_speed_mm_per_s: None,
        press: None,
        ..step("only", pad, liquid)
    }
}

/// The shop with pads and a polish of the medium grade too, and a spot machine.
fn shop() -> Shop {
    let mut shop = Shop::stocked().shipped();
    let spot = MachineFigures {
        spot: true,
        cordless: false,
        ..orbital()
    };
    for (key, figures) in [
        ("medium-foam-150", foam(Grade::Medium, 150)),
        ("medium-polish-1l", liquid(Grade::Medium, 1_000)),
        ("coarse-foam-80", foam(Grade::Coarse, 80)),
        ("cordless-75", Figures::Machine(spot)),
    ] {
        shop.say(Command::CreateMake {
            make: make(key, figures),
        });
    }
    shop
}

/// Force on the pad, mN, and time on paint of a section, ms.
fn force_and_time(shop: &Shop, step: &Step) -> (i64, i64) {
    let plan = plan_sections(&shop.book, step, 1, "step").unwrap();
    (plan.whole.force_mn, plan.section_time_ms)
}

/// Source: common practice, no source: 40 N at 50 mm/s for coarse and medium, 15 N at 75 mm/s for fine.
/// The four passes of 1800 mm take 144 s at 50 mm/s and 96 s at 75 mm/s.
#[test]
fn a_step_that_says_nothing_is_worked_by_the_coarser_of_pad_and_liquid() {
    let shop = shop();
    let (moderate, light) = ((40_000, 144_000), (15_000, 96_000));
    for (pad, liquid, worked) in [
        ("coarse-foam-150", "coarse-compound-1l", moderate),
        ("medium-foam-150", "medium-polish-1l", moderate),
        ("fine-foam-150", "fine-polish-500ml", light),
        ("fine-foam-150", "medium-polish-1l", moderate),
        ("medium-foam-150", "fine-polish-500ml", moderate),
    ] {
        let is = force_and_time(&shop, &open(pad, liquid));
        assert_eq!(is, worked, "{pad} {liquid}");
    }
}

#[test]
fn what_a_step_says_of_force_or_speed_stands() {
    let shop = shop();
    let fine = open("fine-foam-150", "fine-polish-500ml");
    let firm = Step {
        press: Some(Press::Firm),
        ..fine.clone()
    };
    assert_eq!(force_and_time(&shop, &firm), (80_000, 96_000));
    let slow = Step {
        arm_speed_mm_per_s: Some(25),
        ..fine
    };
    assert_eq!(force_and_time(&shop, &slow), (15_000, 288_000));
}

/// Source: from memory: a bumper takes 15 to 20 minutes a step with a spot machine. By hand: 1.06 m² over
/// 0.081 m² are 13.1 sections, so 14 of 4 · 1780 mm at 80 mm/s, 89 s: 20.8 minutes. At 50 mm/s 33.2.
#[test]
fn a_spot_machine_takes_a_bumper_in_some_twenty_minutes() {
    let mut shop = shop();
    let mut bumper = open("coarse-foam-80", "coarse-compound-1l");
    bumper.machine_make = Some(id("cordless-75"));
    bumper.panels = vec![Panel::FrontBumper];
    let plan = plan_of(&mut shop, Some(routine("bumper", vec![bumper])));
    let bumper = &plan.steps[0];
    assert_eq!((bumper.section_count, bumper.section_time_ms), (14, 89_000));
    assert_eq!(bumper.time_ms, 14 * 89_000);
}

#[test]
fn a_speed_that_the_book_sets_itself_stands_for_every_machine_and_grade() {
    let mut shop = shop();
    let fine = open("fine-foam-150", "fine-polish-500ml");
    shop.set_policy(PolicyKey::ArmSpeedFineMmPerS, 100);
    assert_eq!(force_and_time(&shop, &fine).1, 72_000);
    shop.set_policy(PolicyKey::ArmSpeedMmPerS, 50);
    let mut spot = open("coarse-foam-80", "coarse-compound-1l");
    spot.machine_make = Some(id("cordless-75"));
    let times = [fine, spot].map(|step| force_and_time(&shop, &step).1);
    assert_eq!(times, [144_000, 142_400]);
}

/// The cut of the saloon's two-step as it would be worked.
fn cut(shop: &Shop, cleaning: Option<Cleaning>) -> StepPlan {
    let mut shop = shop.clone();
    let step = Step {
        cleaning,
        ..step("cut", "coarse-foam-150", "coarse-compound-1l")
    };
    plan_of(&mut shop, Some(routine("cut-only", vec![step])))
        .steps
        .remove(0)
}

fn pads(shop: &Shop, cleaning: Option<Cleaning>) -> (i64, Cleaning) {
    let cut = cut(shop, cleaning);
    (cut.pad_count, cut.cleaning)
}

/// Source: by hand: 67 sections over loads of 18, of 27 cleaned between panels and of 45 cleaned after
/// each section (common practice, no source) are 4, 3 and 2 pads. Each pad is primed with 6 dots and
/// refreshed with 3: 213, 210 and 207 dots of 250 µL.
#[test]
fn pads_that_are_cleaned_in_between_are_fewer() {
    let shop = Shop::stocked().shipped();
    let (none, panels, sections) = (
        Cleaning::None,
        Cleaning::BetweenPanels,
        Cleaning::AfterSections,
    );
    assert_eq!(pads(&shop, None), (4, none));
    assert_eq!(pads(&shop, Some(panels)), (3, panels));
    assert_eq!(pads(&shop, Some(sections)), (2, sections));
    assert_eq!(cut(&shop, Some(none)).volume.ul(), 53_250);
    assert_eq!(cut(&shop, Some(panels)).volume.ul(), 52_500);
    assert_eq!(cut(&shop, Some(sections)).volume.ul(), 51_750);
    // Fewer pads do the same work.
    let work = |cleaning| cut(&shop, cleaning).work();
    assert_eq!(work(None), work(Some(sections)));
}

#[test]
fn a_brush_at_the_place_of_the_job_cleans_pads_unless_the_step_says_else() {
    let mut shop = Shop::stocked().shipped();
    for (key, kind) in [
        ("pad-brush", ToolKind::PadBrush),
        ("film-gauge", ToolKind::FilmGauge),
    ] {
        shop.say(Command::CreateMake {
            make: make(key, tool(kind)),
        });
    }
    shop.receive("film-gauge", 1);
    assert_eq!(pads(&shop, None), (4, Cleaning::None));
    shop.receive("pad-brush", 1);
    assert_eq!(pads(&shop, None), (3, Cleaning::BetweenPanels));
    assert_eq!(pads(&shop, Some(Cleaning::None)), (4, Cleaning::None));
    let brush = shop.book.pieces_of(&id("pad-brush")).next().unwrap().tag;
    let elsewhere = {
        let mut shop = shop.clone();
        shop.move_to(&brush.to_string(), "van-a");
        shop
    };
    assert_eq!(pads(&elsewhere, None), (4, Cleaning::None));
    shop.set_aside(&brush.to_string());
    assert_eq!(pads(&shop, None), (4, Cleaning::None));
}

/// Source: by hand: 67 sections over 18 · 2 and over 18 · 4.
#[test]
fn how_far_a_cleaned_pad_goes_is_the_books_own() {
    let mut shop = Shop::stocked().shipped();
    shop.set_policy(PolicyKey::LoadCleanedPanelsPermille, 2_000);
    shop.set_policy(PolicyKey::LoadCleanedSectionsPermille, 4_000);
    let count = |cleaning| pads(&shop, Some(cleaning)).0;
    assert_eq!(
        (
            count(Cleaning::BetweenPanels),
            count(Cleaning::AfterSections)
        ),
        (2, 1)
    );
}
