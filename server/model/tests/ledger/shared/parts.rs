//! Which machine works which part of a panel: every part once, and the nearest where its own is not there.

use std::collections::BTreeMap;

use fettlebook_model::Command;
use fettlebook_model::job::{PanelNote, Share, Step};
use fettlebook_model::panel::Panel;
use fettlebook_model::plan::{Plan, StepPlan};
use fettlebook_model::reach::{Part, Reach, Split};
use proptest::prelude::*;

use super::{book, cut, part, plan, shop_of};
use crate::shop::{id, make};

fn note(panel: Panel, split: Split) -> PanelNote {
    PanelNote {
        panel,
        area_mm2: None,
        left_out: false,
        split: Some(split),
        film_um: None,
    }
}

fn split(parts: &[(Reach, i64)]) -> Split {
    let part = |(reach, permille): &(Reach, i64)| Part {
        reach: *reach,
        permille: *permille,
    };
    Split::new(parts.iter().map(part).collect()).unwrap()
}

fn panels_of(plan: &Plan, name: &str) -> Vec<Panel> {
    let panels = part(plan, name).panels.iter();
    panels.map(|(panel, _)| *panel).collect()
}

/// The story: the doors of this car have deep handles, and its roof rails are done by hand.
#[test]
fn the_car_says_which_parts_of_a_panel_take_what() {
    let mut by_hand = cut();
    by_hand.shares.push(super::share(
        "cut",
        Reach::Hand,
        "hand-applicator",
        "coarse-compound-1l",
    ));
    let mut shop = shop_of(by_hand);
    shop.edit_saloon(|car| {
        car.panels = vec![
            note(
                Panel::FrontDoorLeft,
                split(&[(Reach::Big, 900), (Reach::Spot, 85), (Reach::Pencil, 15)]),
            ),
            note(Panel::PillarsLeft, split(&[(Reach::Hand, 1_000)])),
        ];
    });
    let plan = plan(&shop, "shared");
    let door = |name: &str| {
        let mut panels = part(&plan, name).panels.iter();
        panels
            .find(|(panel, _)| *panel == Panel::FrontDoorLeft)
            .unwrap()
            .1
            .mm2()
    };
    // 0.78 m² by hand: 90 %, 8.5 % and 1.5 % of it.
    assert_eq!(
        ["cut", "cut-spot", "cut-pencil"].map(door),
        [702_000, 66_300, 11_700]
    );
    assert_eq!(panels_of(&plan, "cut-hand"), [Panel::PillarsLeft]);
    assert_eq!(part(&plan, "cut-hand").machine_ms(), 0);
    assert!(!panels_of(&plan, "cut-pencil").contains(&Panel::PillarsLeft));
}

#[test]
fn the_routine_gives_panels_whole_to_one_of_its_machines() {
    let mut with_bumpers = cut();
    with_bumpers.own_panels = vec![Panel::SillLeft, Panel::SillRight];
    with_bumpers.shares[1].worked.panels = vec![Panel::FrontBumper];
    let plan = plan(&shop_of(with_bumpers), "shared");
    assert!(panels_of(&plan, "cut").contains(&Panel::SillRight));
    assert!(panels_of(&plan, "cut-pencil").contains(&Panel::FrontBumper));
    assert_eq!(panels_of(&plan, "cut-spot"), [Panel::RearBumper]);
    // It was said so, and is no doubt.
    assert!(plan.steps.iter().all(|step| step.takes_finer.is_empty()));
}

/// Basis: common practice, no source.
#[test]
fn what_nothing_of_its_reach_shares_goes_to_the_nearest_and_what_is_coarser_is_told() {
    let mut without_pencil = cut();
    without_pencil.shares.truncate(1);
    let plan_of = |step| plan(&shop_of(step), "shared");
    let spot = plan_of(without_pencil);
    assert_eq!(part(&spot, "cut-spot").area.mm2(), 2_550_000 + 340_000);
    let finer: Vec<Reach> = part(&spot, "cut-spot")
        .takes_finer
        .iter()
        .map(|(_, reach)| *reach)
        .collect();
    assert_eq!(finer, [Reach::Pencil; 4]);
    // A hand reaches what a pencil pad does.
    let mut with_hand = cut();
    let by_hand = super::share("cut", Reach::Hand, "hand-applicator", "fine-polish-500ml");
    with_hand.shares = vec![by_hand];
    let hand = plan_of(with_hand);
    assert_eq!(part(&hand, "cut-hand").area.mm2(), 340_000);
    assert!(part(&hand, "cut-hand").takes_finer.is_empty());
    assert_eq!(part(&hand, "cut").takes_finer.len(), 4);
    // A machine that is alone on its step is asked nothing.
    let mut alone = cut();
    alone.shares.clear();
    assert!(plan_of(alone).steps[0].takes_finer.is_empty());
}

/// A plan of one machine, whatever it is called.
fn bare(mut step: StepPlan) -> StepPlan {
    step.step.own_panels.clear();
    step
}

/// Law: a step of which the others get nothing is the step that one machine works, to the µL.
#[test]
fn a_step_whose_shares_get_nothing_is_an_ordinary_one() {
    let mut all_own = cut();
    all_own.own_panels = Panel::ALL.to_vec();
    let mut shop = shop_of(all_own.clone());
    let ordinary = Step {
        shares: Vec::new(),
        own_panels: Vec::new(),
        ..all_own
    };
    book(&mut shop, "ordinary", ordinary);
    let [shared, ordinary] = ["shared", "ordinary"].map(|job| plan(&shop, job));
    assert_eq!(
        (shared.towel_count, shared.wiped, shared.sundries),
        (ordinary.towel_count, ordinary.wiped, ordinary.sundries)
    );
    let steps = |plan: Vec<StepPlan>| plan.into_iter().map(bare).collect::<Vec<_>>();
    assert_eq!(steps(shared.steps), steps(ordinary.steps));
}

/// A wipe-down goes once over all that its step works, whoever works it: 12.2 m² on 4 sides of 0.51 m² are 5.98
/// towels, and three parts rounded up by themselves would be 5 + 2 + 1.
#[test]
fn a_wipe_down_is_of_the_whole_step() {
    let mut wiped = cut();
    wiped.wipe_down_make = Some(id("final-towel"));
    let mut shop = shop_of(cut());
    let towel = shop.book.make(&id("edgeless-towel-400g")).unwrap();
    let make = make("final-towel", towel.figures.clone());
    shop.say(Command::CreateMake { make });
    book(&mut shop, "wiped", wiped);
    let plan = plan(&shop, "wiped");
    let [wipe] = plan.wipe_downs.as_slice() else {
        panic!("one wipe-down: {:?}", plan.wipe_downs)
    };
    assert_eq!((wipe.after.as_str(), wipe.towel_count), ("cut", 6));
}

/// Any panel in two or three parts, and which of the shares the step has.
fn anyhow() -> impl Strategy<Value = (Vec<(usize, i64, i64)>, Vec<bool>)> {
    let of_panel = (0..Panel::ALL.len(), 1_i64..998, 1_i64..998);
    let panels = proptest::collection::vec(of_panel, 0..6);
    (panels, proptest::collection::vec(any::<bool>(), 3))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    /// Law: whatever is said of car and routine, each panel is worked whole and once: what its machines work
    /// of it adds up to its area, to the mm².
    #[test]
    fn the_shares_of_a_panel_are_the_panel((panels, has) in anyhow()) {
        let mut some = cut();
        let hand = super::share("cut", Reach::Hand, "hand-applicator", "fine-polish-500ml");
        some.shares.push(hand);
        let mut has = has.into_iter();
        some.shares.retain(|_: &Share| has.next().unwrap_or(false));
        let mut shop = shop_of(some);
        shop.edit_saloon(|car| {
            for (at, one, other) in panels {
                let panel = Panel::ALL[at];
                let other = other.min(999 - one);
                let parts = [
                    (Reach::Pencil, one),
                    (Reach::Spot, other),
                    (Reach::Big, 1_000 - one - other),
                ];
                let parts: Vec<_> = parts.into_iter().filter(|(_, part)| *part > 0).collect();
                car.panels.retain(|note| note.panel != panel);
                car.panels.push(note(panel, split(&parts)));
            }
        });
        let plan = plan(&shop, "shared");
        let mut worked: BTreeMap<Panel, i64> = BTreeMap::new();
        for (panel, area) in plan.steps.iter().flat_map(|step| &step.panels) {
            *worked.entry(*panel).or_default() += area.mm2();
        }
        let whole: BTreeMap<Panel, i64> = plan
            .panels
            .iter()
            .map(|facts| (facts.panel, facts.area.mm2()))
            .collect();
        prop_assert_eq!(worked, whole);
        for step in &plan.steps {
            let own: i64 = step.panels.iter().map(|(_, area)| area.mm2()).sum();
            prop_assert_eq!(own, step.area.mm2());
        }
    }
}
