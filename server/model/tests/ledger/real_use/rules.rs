//! What was learnt of a liquid survives a change of the rules that plans are made by.
//!
//! The version before rounded sections up on each panel, 77 on the saloon, and took 61.5 mL of compound;
//! by today's rules 67 sections take 53.25 mL. Its plans, and the stretches that were held against them,
//! are larger by as much; it wrote down no number of rules.

use fettlebook_model::deed::{Deed, Entry};
use fettlebook_model::job::{Job, Routine};
use fettlebook_model::plan::plan_job;
use fettlebook_model::real_use::RealUse;
use fettlebook_model::{Book, Command};
use fettlebook_quantity::{Length, Volume};

use super::{COMPOUND, PADS, weigh, work};
use crate::shop::{Shop, id, replayed, restored, routine, saloon_job, step};

/// What the saloon's cut was planned to take by the version before, and is by today's rules, µL.
const PLANS_UL: (i64, i64) = (61_500, 53_250);

/// What was used on six days, µL.
const USED_UL: [(u8, i64); 6] = [
    (5, 71_000),
    (6, 74_000),
    (7, 69_500),
    (8, 73_000),
    (9, 70_500),
    (10, 75_000),
];

const fn larger(planned_ul: i64) -> i64 {
    planned_ul * PLANS_UL.0 / PLANS_UL.1
}

/// The entries with the plans that the version before made; the number of its rules is written down, as
/// no program did, where they are to be taken for today's.
fn by_rules_before(entries: &[Entry], is_told: bool) -> Vec<Entry> {
    let mut entries = entries.to_vec();
    for deed in entries.iter_mut().flat_map(|entry| &mut entry.deeds) {
        if let Deed::LiquidUsed {
            planned_ul, rules, ..
        } = deed
        {
            *planned_ul = Volume::from_ul(larger(planned_ul.ul()));
            *rules = if is_told { *rules } else { 1 };
        }
    }
    entries
}

/// A shop that worked and weighed on six days.
fn weighed_shop() -> Shop {
    let mut shop = Shop::stocked().shipped();
    let mut left = 1_000_000;
    for (day, used) in USED_UL {
        work(&mut shop, day);
        left -= used;
        weigh(&mut shop, left);
    }
    shop
}

/// The plan of the saloon's compound by today's rules.
fn planned(shop: &Shop) -> i64 {
    let job = shop.book.job(&id("job-5")).unwrap();
    plan_job(&shop.book, job).unwrap().steps[0].volume.ul()
}

fn expected(book: &Book, planned: i64) -> f64 {
    let likely = RealUse::of(book, &id(COMPOUND), planned).of_job(planned);
    likely.expected as f64
}

fn apart(one: f64, other: f64) -> f64 {
    (one / other - 1.0).abs()
}

/// Source: the version before reckoned with its own plans on both sides; so does a book whose plans are
/// larger and pass for today's, asked for a larger plan.
#[test]
fn a_job_that_was_weighed_is_expected_to_use_as_much_after_a_change_of_rules() {
    let shop = weighed_shop();
    let plan = planned(&shop);
    assert_eq!(plan, PLANS_UL.1);
    let before = expected(
        &replayed(&by_rules_before(&shop.entries, true)),
        larger(plan),
    );
    let book = replayed(&by_rules_before(&shop.entries, false));
    let after = expected(&book, plan);
    assert!(apart(after, before) < 0.02, "{before} {after}");
    // Held against plans of other rules than today's, it would be far off.
    let mistaken = expected(&replayed(&by_rules_before(&shop.entries, true)), plan);
    assert!(apart(mistaken, before) > 0.05, "{before} {mistaken}");
    // Nothing is lost where the book comes from its records.
    assert_eq!(restored(&book), book);
}

/// Three of the jobs were of a routine that takes none of the compound any more: how their plans would
/// have changed follows from the others.
#[test]
fn a_plan_that_cannot_be_made_again_goes_by_what_became_of_the_others() {
    let mut shop = Shop::stocked().shipped();
    let cut_only =
        |liquid| -> Routine { routine("cut-only", vec![step("cut", "coarse-foam-150", liquid)]) };
    let held = cut_only(COMPOUND);
    shop.say(Command::CreateRoutine {
        routine: held.clone(),
    });
    let mut left = 1_000_000;
    for (day, used) in USED_UL {
        if day < 8 {
            work(&mut shop, day);
        } else {
            let name = format!("job-{day}");
            let job = Job {
                routine: id("cut-only"),
                ..saloon_job(&name, &format!("2026-03-{day:02} 08:00"))
            };
            shop.say(Command::BookJob { job });
            shop.go_to(&format!("2026-03-{day:02} 15:00"));
            shop.log(&name);
            shop.mark_dry(PADS);
        }
        left -= used;
        weigh(&mut shop, left);
    }
    let plan = planned(&shop);
    let known = expected(&replayed(&by_rules_before(&shop.entries, false)), plan);
    shop.say(Command::EditRoutine {
        was: held,
        routine: cut_only("fine-polish-500ml"),
    });
    let unknown = expected(&replayed(&by_rules_before(&shop.entries, false)), plan);
    assert!(apart(unknown, known) < 1e-4, "{known} {unknown}");
}

/// Plans by today's rules are taken as they were made, whatever became of the routine since.
#[test]
fn a_plan_by_todays_rules_is_not_made_again() {
    let mut shop = weighed_shop();
    let plan = planned(&shop);
    let before = expected(&shop.book, plan);
    let was = shop.book.routine(&id("two-step")).unwrap().as_ref().clone();
    let mut edited = was.clone();
    edited.steps[0].side_mm = Some(Length::from_mm(300));
    shop.say(Command::EditRoutine {
        was,
        routine: edited,
    });
    assert_eq!(expected(&shop.book, plan), before);
}
