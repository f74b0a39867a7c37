//! Shares that do not go together are refused, with what, where and what next; nothing changes then.

use fettlebook_model::format::Format;
use fettlebook_model::job::{PanelNote, Step, StepSets};
use fettlebook_model::panel::Panel;
use fettlebook_model::reach::{Part, Reach, Split};
use fettlebook_model::{Command, Reason, Refusal};

use super::{cut, share, shop_of};
use crate::shop::{id, routine, saloon_job};

/// Sets up a routine of a step; what it was refused for.
fn refusal(step: Step) -> Refusal {
    let mut shop = shop_of(cut());
    let before = shop.book.clone();
    let routine = routine("odd", vec![step]);
    let refused = shop
        .try_say(Command::CreateRoutine { routine })
        .unwrap_err();
    assert_eq!(shop.book, before);
    refused
}

#[test]
fn a_panel_given_to_two_machines_or_to_none() {
    let mut twice = cut();
    twice.own_panels = vec![Panel::Roof];
    twice.shares[1].worked.panels = vec![Panel::Roof];
    let refused = refusal(twice);
    assert_eq!(refused.field, "routine.steps.cut.shares.pencil.panels");
    assert!(
        refused
            .to_string()
            .contains("roof is given to cut and to cut-pencil")
    );

    let mut to_none = cut();
    to_none.panels = vec![Panel::Bonnet, Panel::FrontBumper];
    to_none.shares[0].worked.panels = vec![Panel::RearBumper];
    let refused = refusal(to_none);
    assert_eq!(refused.field, "routine.steps.cut.shares.spot.panels");
    assert!(refused.to_string().contains("does not work rear-bumper"));

    let mut of_nobody = cut();
    of_nobody.shares.clear();
    of_nobody.own_panels = vec![Panel::Roof];
    assert_eq!(refusal(of_nobody).field, "routine.steps.cut.own_panels");
}

#[test]
fn two_machines_of_one_reach() {
    let mut twice = cut();
    let again = twice.shares[0].clone();
    twice.shares.push(again);
    let refused = refusal(twice);
    assert_eq!(refused.reason, Reason::FieldInvalid);
    // The second of a reach is told before that both would have one name.
    assert!(refused.to_string().contains("spot"), "{refused}");

    let mut as_own = cut();
    as_own.shares = vec![share(
        "cut",
        Reach::Big,
        "coarse-foam-150",
        "coarse-compound-1l",
    )];
    let refused = refusal(as_own);
    assert_eq!(refused.field, "routine.steps.cut.shares.reach");
    assert!(refused.to_string().contains("the reach big"), "{refused}");
}

#[test]
fn a_share_whose_makes_do_not_go_together() {
    let mut wrong_pad = cut();
    wrong_pad.shares[0].worked.pad_make = id("hand-applicator");
    let refused = refusal(wrong_pad);
    assert_eq!(refused.reason, Reason::WrongSort);
    assert_eq!(refused.field, "routine.steps.cut.shares.spot.pad_make");

    let mut too_fast = cut();
    too_fast.shares[0].worked.speed_per_min = Some(9_000);
    let refused = refusal(too_fast);
    assert_eq!(refused.field, "routine.steps.cut.shares.spot.speed_per_min");
}

#[test]
fn sets_of_a_step_that_the_routine_has_not() {
    let mut shop = shop_of(cut());
    let mut job = saloon_job("deep", "2026-03-05 08:00");
    job.sets = vec![StepSets {
        step: id("polish"),
        count: 2,
    }];
    let refused = shop.try_say(Command::BookJob { job }).unwrap_err();
    assert_eq!(
        (refused.reason, refused.field.as_str()),
        (Reason::FieldInvalid, "job.sets.step")
    );
    assert!(refused.to_string().contains("cut"), "{refused}");
}

/// A program of the third format would plan the step for one machine, the panel whole, the job for one set.
#[test]
fn what_earlier_programs_would_plan_otherwise_is_of_the_fourth_format() {
    let mut shop = shop_of(cut());
    let shared = shop.entries.iter().map(|entry| entry.format).max().unwrap();
    let before = shop
        .entries
        .iter()
        .filter(|entry| entry.format == shared)
        .count();
    assert_eq!((shared, before), (Format::NEWEST, 1));
    let part = |reach, permille| Part { reach, permille };
    let split = Split::new(vec![part(Reach::Big, 900), part(Reach::Spot, 100)]).unwrap();
    let split = shop.edit_saloon(|car| {
        car.panels.push(PanelNote {
            panel: Panel::Bonnet,
            area_mm2: None,
            left_out: false,
            split: Some(split),
            film_um: None,
        });
    });
    assert_eq!(split.format, Format::NEWEST);
    let was = shop.book.job(&id("shared")).unwrap().as_ref().clone();
    let mut job = was.clone();
    job.sets = vec![StepSets {
        step: id("cut"),
        count: 3,
    }];
    let deeper = shop.say(Command::EditJob { was, job }).format;
    assert_eq!(deeper, Format::NEWEST);
}
