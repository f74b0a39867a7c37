//! The pad line of a step: enough pads, clean, dry, whole and of the right past.
//!
//! Serves the check. It never picks a pad that another step of the job has, and never says short
//! without saying what would help.

use std::collections::{BTreeMap, BTreeSet};

use super::line::{Line, LineKind, Pick, Verdict, list, local};
use crate::Moment;
use crate::ids::Tag;
use crate::job::Step;
use crate::make::{PadFigures, Unit};
use crate::pick::{PadBar, PadChoice, PadOffer, Scene, added_damage, band_of, offer_pads};
use crate::plan::StepPlan;
use crate::wear::Band;

/// The pad line. What it picks is marked taken, so that no other step gets it.
pub(super) fn pad_line(
    scene: &Scene<'_>,
    step: &Step,
    plan: &StepPlan,
    figures: &PadFigures,
    taken: &mut BTreeSet<Tag>,
) -> Line {
    let name = scene
        .book
        .make(&step.pad_make)
        .map_or("", |make| make.name.as_str());
    let mut line = Line::new(LineKind::Pad, Some(&step.name), name);
    line.make = Some(step.pad_make.clone());
    let offer = offer_pads(scene, step, plan, figures, taken);
    let need = plan.pad_count.saturating_add(plan.spare_count);
    let have = i64::try_from(offer.choices.len()).unwrap_or(i64::MAX);
    line.counts(need, have, Unit::Piece);
    let working = usize::try_from(plan.pad_count).unwrap_or(usize::MAX);
    let picked: Vec<&PadChoice> = offer
        .choices
        .iter()
        .take(usize::try_from(need).unwrap_or(usize::MAX))
        .collect();
    for (at, choice) in picked.iter().enumerate() {
        taken.insert(choice.piece.tag);
        line.picks.push(Pick {
            tag: choice.piece.tag,
            quantity: 1,
            spare: at >= working,
            damage: Some(choice.damage),
        });
    }
    say_worn(
        &mut line,
        scene,
        plan,
        figures,
        picked.iter().take(working).copied(),
    );
    line.ask_to_move(scene, picked.iter().map(|choice| &choice.piece));
    if line.short > 0 {
        say_what_would_help(&mut line, scene, &offer);
        line.todo(format!(
            "Buy {} more of {name} before the start, or leave panels out.",
            line.short
        ));
    }
    line
}

/// Watches pads that are tired, and those the job itself would carry past the limit.
fn say_worn<'a>(
    line: &mut Line,
    scene: &Scene<'_>,
    plan: &StepPlan,
    figures: &PadFigures,
    working: impl Iterator<Item = &'a PadChoice>,
) {
    let each = added_damage(plan, figures);
    let (mut tired, mut passing) = (Vec::new(), Vec::new());
    for choice in working {
        if band_of(scene.policy(), choice.damage + each) == Band::Spent {
            passing.push(choice.piece.tag);
        } else if band_of(scene.policy(), choice.damage) == Band::Tired {
            tired.push(choice.piece.tag);
        }
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

/// Says which pads of the make cannot be taken, and what would bring them back.
fn say_what_would_help(line: &mut Line, scene: &Scene<'_>, offer: &PadOffer) {
    let mut washable: BTreeMap<Option<Moment>, Vec<Tag>> = BTreeMap::new();
    let mut drying: BTreeMap<Moment, Vec<Tag>> = BTreeMap::new();
    let mut others: BTreeMap<PadBar, Vec<Tag>> = BTreeMap::new();
    for (tag, bar) in &offer.barred {
        match bar {
            PadBar::Soiled(by) => washable.entry(*by).or_default().push(*tag),
            PadBar::Drying(until) => drying.entry(*until).or_default().push(*tag),
            PadBar::Aside | PadBar::Coarser | PadBar::Spent | PadBar::Taken => {
                others.entry(*bar).or_default().push(*tag);
            }
        }
    }
    for (by, tags) in washable {
        line.raise(Verdict::Stop, format!("Soiled: {}.", list(&tags)));
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
            PadBar::Coarser => "Carried a coarser liquid",
            PadBar::Spent => "Spent",
            PadBar::Taken => "Taken for another step",
            PadBar::Soiled(_) | PadBar::Drying(_) => continue,
        };
        line.raise(Verdict::Stop, format!("{why}: {}.", list(&tags)));
    }
}
