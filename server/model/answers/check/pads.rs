//! The pad line of a step: enough pads, clean, dry, whole and of the right past.
//!
//! Serves the check. It never picks a pad that another step of the job has, and never says short
//! without saying what would help.

use std::collections::{BTreeMap, BTreeSet};

use super::line::{Line, LineKind, Pick, Remedy, Verdict, local};
use crate::Moment;
use crate::book::damage::band_of;
use crate::ground::ids::Tag;
use crate::ground::ids::list;
use crate::ready::pick::{PadBar, PadChoice, PadOffer, Scene, added_damage, offer_pads};
use crate::ready::plan::StepPlan;
use crate::trade::job::Step;
use crate::trade::make::{Grade, PadFigures, Unit};
use crate::trade::wear::Band;

/// Why a wash would bring a pad back.
const SOILED: &str = "Soiled";
const COARSER: &str = "Carried a coarser liquid and not washed since";

/// The pad line. What it picks is marked taken, so that no other step gets it.
pub(super) fn pad_line(
    scene: &Scene<'_>,
    step: &Step,
    plan: &StepPlan,
    figures: &PadFigures,
    taken: &mut BTreeSet<Tag>,
    target: f64,
) -> Line {
    let name = scene
        .book
        .make(&step.pad_make)
        .map_or("", |make| make.name.as_str());
    let mut line = Line::new(LineKind::Pad, Some(&step.name), name);
    line.make = Some(step.pad_make.clone());
    let offer = offer_pads(scene, step, plan, figures, taken, target);
    let need = plan.pad_count.saturating_add(plan.spare_count);
    let have = i64::try_from(offer.eligible_count).unwrap_or(i64::MAX);
    line.counts(need, have, Unit::Piece);
    for (at, choice) in offer.picked().enumerate() {
        taken.insert(choice.piece.tag);
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
    line.buy = line.short;
    say_worn(&mut line, scene, plan, figures, &offer.working);
    say_of_liquids(&mut line, plan.whole.liquid, figures.grade, &offer);
    line.ask_to_move(scene, offer.picked().map(|choice| &choice.piece));
    if line.short == 0 {
        weigh_fresh(&mut line, &offer, name);
    }
    if line.short > 0 {
        say_what_would_help(&mut line, scene, &offer);
        line.todo(format!(
            "Buy {} more of {name} before the start, or leave panels out.",
            line.short
        ));
    }
    line
}

/// Watches pads that are tired or past their rated life, and those the job itself would carry past
/// it.
fn say_worn(
    line: &mut Line,
    scene: &Scene<'_>,
    plan: &StepPlan,
    figures: &PadFigures,
    working: &[PadChoice],
) {
    let each = added_damage(plan, figures);
    let (mut tired, mut passing, mut past) = (Vec::new(), Vec::new(), Vec::new());
    for choice in working {
        let tag = choice.piece.tag;
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
        line.todo("Look at face and edge after each panel; keep the spare at hand.");
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
fn say_of_liquids(line: &mut Line, liquid: Grade, kept_for: Grade, offer: &PadOffer) {
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
    let is_first = |choice: &&PadChoice| {
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

fn tag_of(choice: &PadChoice) -> Tag {
    choice.piece.tag
}

/// How many new pads would bring the chance to what is aimed at.
fn weigh_fresh(line: &mut Line, offer: &PadOffer, name: &str) {
    let fresh = offer.chance.as_ref().and_then(|carry| carry.fresh_count);
    let Some(fresh) = fresh.and_then(|count| i64::try_from(count).ok()) else {
        return;
    };
    line.remedy = Some(Remedy {
        buy: fresh,
        todo: format!(
            "Buy {fresh} of {name} to take in the place of the most worn, or take more spares."
        ),
    });
}

/// Says which pads of the make cannot be taken, and what would bring them back.
fn say_what_would_help(line: &mut Line, scene: &Scene<'_>, offer: &PadOffer) {
    let mut washable: BTreeMap<(Option<Moment>, &str), Vec<Tag>> = BTreeMap::new();
    let mut drying: BTreeMap<Moment, Vec<Tag>> = BTreeMap::new();
    let mut others: BTreeMap<PadBar, Vec<Tag>> = BTreeMap::new();
    for (tag, bar) in &offer.barred {
        match bar {
            PadBar::Soiled(by) => washable.entry((*by, SOILED)).or_default().push(*tag),
            PadBar::Coarser(by) => washable.entry((*by, COARSER)).or_default().push(*tag),
            PadBar::Drying(until) => drying.entry(*until).or_default().push(*tag),
            PadBar::Aside | PadBar::Taken | PadBar::TakenAlong => {
                others.entry(*bar).or_default().push(*tag);
            }
        }
    }
    for ((by, why), tags) in washable {
        line.raise(Verdict::Stop, format!("{why}: {}.", list(&tags)));
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
        line.raise(Verdict::Stop, format!("Drying: {}.", list(&tags)));
        line.todo(format!(
            "{} should be dry on {}; mark dry when dry to the touch.",
            list(&tags),
            local(scene, until)
        ));
    }
    for (bar, tags) in others {
        let why = match bar {
            PadBar::Aside => "Set aside",
            PadBar::Taken => "Taken for another step",
            PadBar::TakenAlong => "A spare for another job that day",
            PadBar::Soiled(_) | PadBar::Coarser(_) | PadBar::Drying(_) => continue,
        };
        line.raise(Verdict::Stop, format!("{why}: {}.", list(&tags)));
    }
}
