//! The pad line of a step: enough pads, clean, dry, whole and of the right past.
//!
//! Serves the check. It never picks a pad that another step of the job has, and never says short
//! without saying what would help.

use std::collections::BTreeMap;

use super::both_days;
use super::chance::times_in_100;
use super::line::{Line, LineKind, Pick, Verdict, local};
use crate::book::damage::band_of;
use crate::ground::ids::{Id, Tag, list};
use crate::ground::refusal::Refusal;
use crate::ready::pick::{
    JobPads, PadBar, PadChoice, PadOffer, Scene, StepAsked, added_damage, offer_pads,
};
use crate::ready::plan::{Plan, step_makes};
use crate::trade::job::Routine;
use crate::trade::kit::Piece;
use crate::trade::make::{Figures, PadFigures, Unit};
use crate::trade::wear::Band;
use crate::{Book, Moment};

/// Why a wash would bring a pad back.
const SOILED: &str = "Soiled";
const COARSER: &str = "Carried a coarser liquid and not washed since";

/// The pad lines of all steps, each with pads of its own.
///
/// # Errors
/// When a step names what the book does not hold.
pub(super) fn pad_lines(
    scene: &Scene<'_>,
    routine: &Routine,
    plan: &Plan,
    target: f64,
) -> Result<Vec<Line>, Refusal> {
    let mut job_pads = JobPads::default();
    plan.steps
        .iter()
        .map(|planned| {
            let asked = StepAsked {
                routine,
                whole: plan,
                plan: planned,
                figures: step_makes(scene.book, &planned.step, "routine.steps")?.pad,
            };
            Ok(pad_line(scene, &asked, &mut job_pads, target))
        })
        .collect()
}

/// The pad line. What it picks is marked taken, so that no other step gets it.
fn pad_line(scene: &Scene<'_>, asked: &StepAsked<'_>, job_pads: &mut JobPads, target: f64) -> Line {
    let scene = &scene.of_step(asked.plan);
    let name = scene
        .book
        .make(&asked.step().pad_make)
        .map_or("", |make| make.name.as_str());
    let mut line = Line::new(LineKind::Pad, Some(&asked.plan.name), name);
    line.make = Some(asked.step().pad_make.clone());
    let offer = offer_pads(scene, asked, job_pads, target);
    let have = i64::try_from(offer.eligible_count).unwrap_or(i64::MAX);
    let chance = offer.chance.as_ref().map(|carry| carry.chance);
    line.counts_as(asked.plan.pad_count, have, Unit::Piece, |_, _| {
        gravity(chance)
    });
    line.have = i64::try_from(offer.here_count).unwrap_or(i64::MAX);
    let [working, spares] =
        [&offer.working, &offer.spares].map(|pads| pads.iter().map(tag_of).collect::<Vec<_>>());
    job_pads.take(scene, asked, (&working, &spares));
    for (at, choice) in offer.picked().enumerate() {
        line.picks.push(Pick {
            tag: choice.piece.tag,
            quantity: 1,
            spare: at >= offer.working.len(),
            damage: Some(choice.damage),
        });
    }
    if let Some(carry) = &offer.chance {
        line.chance = Some(carry.chance);
        line.rests_on.clone_from(&carry.rests_on);
        line.ahead = Some(carry.ahead.clone());
    }
    say_too_few(&mut line, &offer);
    say_others(&mut line, scene, &offer, name);
    say_worn(&mut line, scene, asked, &offer.working);
    say_of_liquids(&mut line, asked, &offer);
    both_days::say(&mut line, scene, asked, &offer);
    line.ask_to_move(scene, offer.picked().map(|choice| choice.piece));
    if line.short > 0 {
        say_what_would_help(&mut line, scene, &offer);
    }
    line
}

/// How grave it is that there are too few pads: it stops where those that are there, taking all of the
/// work between them, will more likely give out than not, and where nothing is known of their lives.
fn gravity(chance: Option<f64>) -> Verdict {
    if chance.is_none_or(|chance| chance < 0.5) {
        Verdict::Stop
    } else {
        Verdict::Watch
    }
}

/// Says what it costs that fewer pads do all of the work.
fn say_too_few(line: &mut Line, offer: &PadOffer<'_>) {
    let (Some(carry), false) = (&offer.chance, offer.working.is_empty()) else {
        return;
    };
    if line.short == 0 {
        return;
    }
    let (few, takes) = match offer.working.len() {
        1 => ("The 1 there".to_owned(), "takes"),
        count => (format!("The {count} there"), "take"),
    };
    line.raise(
        Verdict::Watch,
        format!(
            "{few} {takes} all of it, more work each: enough for {}.",
            times_in_100(carry.chance)
        ),
    );
    if line.verdict == Verdict::Watch {
        line.todo("Clean them after every section and let them cool.");
    }
}

/// Watches pads of other makes that make up the number.
fn say_others(line: &mut Line, scene: &Scene<'_>, offer: &PadOffer<'_>, name: &str) {
    let mut others: BTreeMap<&Id, Vec<Tag>> = BTreeMap::new();
    for choice in offer.picked().filter(|choice| choice.of_other_make) {
        let of_make = others.entry(&choice.piece.make).or_default();
        of_make.push(choice.piece.tag);
    }
    for (make, mut tags) in others {
        tags.sort_unstable();
        let tags = list(&tags);
        let other = scene.book.make(make);
        let other = other.map_or("", |make| make.name.as_str());
        line.raise(
            Verdict::Watch,
            format!("Too few of {name}: {tags}, {other}, do for it."),
        );
        line.todo(format!(
            "Take {tags}, {other}, instead, and try them on a test spot."
        ));
    }
}

/// Watches pads that are tired or past their rated life, and those the job itself would carry past
/// it.
fn say_worn(line: &mut Line, scene: &Scene<'_>, asked: &StepAsked<'_>, working: &[PadChoice<'_>]) {
    let count = i64::try_from(working.len()).unwrap_or(i64::MAX);
    let (mut tired, mut passing, mut past) = (Vec::new(), Vec::new(), Vec::new());
    for choice in working {
        let tag = choice.piece.tag;
        let figures = pad_figures(scene.book, choice.piece).unwrap_or(asked.figures);
        let each = added_damage(asked.plan, figures, count);
        if band_of(scene.policy(), choice.damage) == Band::Spent {
            past.push(tag);
        } else if band_of(scene.policy(), choice.damage + each) == Band::Spent {
            passing.push(tag);
        } else if band_of(scene.policy(), choice.damage) == Band::Tired {
            tired.push(tag);
        }
    }
    if !past.is_empty() {
        line.raise(
            Verdict::Watch,
            format!("Spent by the rating, and still working: {}.", list(&past)),
        );
        line.todo(format!(
            "Look at face and edge of {} before and after each panel; bin it on the first tear.",
            list(&past)
        ));
    }
    if !tired.is_empty() {
        line.raise(Verdict::Watch, format!("Tired: {}.", list(&tired)));
        line.todo("Look at face and edge after each panel; keep another at hand.");
    }
    if !passing.is_empty() {
        line.raise(
            Verdict::Watch,
            format!("This job carries {} past the rated life.", list(&passing)),
        );
        line.todo(format!(
            "Plan to replace {} after this job.",
            list(&passing)
        ));
    }
}

/// Watches pads that may hold leftovers of a coarser liquid, and says before it happens which pads are to
/// carry a coarser liquid than they are kept for.
fn say_of_liquids(line: &mut Line, asked: &StepAsked<'_>, offer: &PadOffer<'_>) {
    let (liquid, kept_for) = (asked.plan.whole.liquid, asked.figures.grade);
    let washed = offer.picked().filter(|choice| choice.washed_of_coarser);
    let washed: Vec<Tag> = washed.map(|choice| choice.piece.tag).collect();
    if !washed.is_empty() {
        let washed = list(&washed);
        line.raise(
            Verdict::Watch,
            format!("Washed after a coarser liquid: {washed}."),
        );
        line.todo(format!(
            "Look over face and edge of {washed} for leftovers of the coarser liquid, and try it on a \
             test spot before it finishes."
        ));
    }
    let is_first = |choice: &&PadChoice<'_>| {
        let pad = choice.piece.pad();
        pad.is_some_and(|pad| pad.is_kept_for_finer(kept_for, liquid))
    };
    let first: Vec<Tag> = offer.working.iter().filter(is_first).map(tag_of).collect();
    if !first.is_empty() {
        let first = list(&first);
        line.raise(
            Verdict::Watch,
            format!(
                "Kept for {}, and to carry a {} liquid: {first}.",
                kept_for.word(),
                liquid.word()
            ),
        );
        line.todo(format!(
            "Take pads kept for {}, or keep {first} to it from then on: washed, they go to a finer liquid \
             only as the last choice.",
            liquid.word()
        ));
    }
}

fn tag_of(choice: &PadChoice<'_>) -> Tag {
    choice.piece.tag
}

/// The figures of a pad's own make.
fn pad_figures<'a>(book: &'a Book, piece: &Piece) -> Option<&'a PadFigures> {
    match &book.make(&piece.make)?.figures {
        Figures::Pad(figures) => Some(figures),
        _ => None,
    }
}

/// Says which pads of the make cannot be taken, and what would bring them back.
fn say_what_would_help(line: &mut Line, scene: &Scene<'_>, offer: &PadOffer<'_>) {
    let mut washable: BTreeMap<(Option<Moment>, &str), Vec<Tag>> = BTreeMap::new();
    let mut drying: BTreeMap<Moment, Vec<Tag>> = BTreeMap::new();
    let mut works_before: BTreeMap<Moment, Vec<Tag>> = BTreeMap::new();
    let mut others: BTreeMap<PadBar, Vec<Tag>> = BTreeMap::new();
    for (tag, bar) in &offer.barred {
        match bar {
            PadBar::Soiled(by) => washable.entry((*by, SOILED)).or_default().push(*tag),
            PadBar::Coarser(by) => washable.entry((*by, COARSER)).or_default().push(*tag),
            PadBar::Drying(until) => drying.entry(*until).or_default().push(*tag),
            PadBar::WorksBefore(dry_at) => works_before.entry(*dry_at).or_default().push(*tag),
            PadBar::TakenFor | PadBar::Away => {}
            PadBar::Aside | PadBar::Taken | PadBar::TakenAlong | PadBar::Binned => {
                others.entry(*bar).or_default().push(*tag);
            }
        }
    }
    for ((by, why), tags) in washable {
        line.raise(Verdict::Watch, format!("{why}: {}.", list(&tags)));
        match by {
            Some(by) => line.todo(format!(
                "Wash {} by {} to be dry in time.",
                list(&tags),
                local(scene, by)
            )),
            None => line.todo(format!(
                "{} cannot dry by the start; wash now and mark dry only when dry to the touch, or take others.",
                list(&tags)
            )),
        }
    }
    for (until, tags) in drying {
        line.raise(Verdict::Watch, format!("Drying: {}.", list(&tags)));
        line.todo(format!(
            "{} should be dry on {}; mark dry when dry to the touch.",
            list(&tags),
            local(scene, until)
        ));
    }
    for (dry_at, tags) in works_before {
        both_days::say_not_dry(line, scene, dry_at, &tags);
    }
    for (bar, tags) in others {
        let why = match bar {
            PadBar::Aside => "Set aside",
            PadBar::Taken => "Taken for another step",
            PadBar::TakenAlong => "A spare for another job that day",
            PadBar::Binned => "Binned since it was taken",
            PadBar::Soiled(_)
            | PadBar::Coarser(_)
            | PadBar::Drying(_)
            | PadBar::WorksBefore(_)
            | PadBar::TakenFor
            | PadBar::Away => continue,
        };
        line.raise(Verdict::Watch, format!("{why}: {}.", list(&tags)));
    }
}
