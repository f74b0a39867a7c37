//! The lines of what runs out: liquids, towels, sundries.

use std::sync::Arc;

use fettlebook_quantity::{Seconds, Volume};

use super::{Line, LineKind, Pick, Verdict, ask_to_count, ask_to_move, list, local};
use crate::ids::{Id, Tag};
use crate::job::Routine;
use crate::kit::{Piece, Readiness};
use crate::make::{Figures, Unit};
use crate::pick::{
    Scene, is_demotable, offer_bottles, offer_bundles, offer_sundries, take_count, take_volume,
    wash_by,
};
use crate::plan::Plan;
use crate::policy::PolicyKey;
use crate::towel::TowelGrade;

/// One line a liquid make, for all the steps that use it.
pub(super) fn liquid_lines(scene: &Scene<'_>, routine: &Routine, plan: &Plan) -> Vec<Line> {
    liquid_needs(routine, plan)
        .into_iter()
        .map(|(make, steps, need)| liquid_line(scene, make, steps, need))
        .collect()
}

/// Liquid needed by make, in the order of the steps: make, first step, volume.
pub(crate) fn liquid_needs<'a>(routine: &'a Routine, plan: &Plan) -> Vec<(&'a Id, &'a Id, Volume)> {
    let mut needs: Vec<(&Id, &Id, Volume)> = Vec::new();
    for planned in &plan.steps {
        let Some(step) = routine.steps.iter().find(|step| step.name == planned.name) else {
            continue;
        };
        match needs
            .iter_mut()
            .find(|(make, ..)| **make == step.liquid_make)
        {
            Some((_, _, volume)) => *volume = volume.saturating_add(planned.volume),
            None => needs.push((&step.liquid_make, &step.name, planned.volume)),
        }
    }
    needs
}

fn liquid_line(scene: &Scene<'_>, make: &Id, step: &Id, need: Volume) -> Line {
    let name = scene.book.make(make).map_or("", |make| make.name.as_str());
    let mut line = Line::new(LineKind::Liquid, Some(step), name);
    line.make = Some(make.clone());
    let (bottles, expired) = offer_bottles(scene, make);
    let have = bottles.iter().fold(Volume::ZERO, |sum, (_, bottle)| {
        sum.saturating_add(bottle.left_ul.max(Volume::ZERO))
    });
    line.counts(need.ul(), have.ul(), Unit::Microlitre);
    let (taken, _) = take_volume(&bottles, need);
    let picked: Vec<&Arc<Piece>> = bottles
        .iter()
        .map(|(piece, _)| piece)
        .filter(|piece| taken.iter().any(|(tag, _)| *tag == piece.tag))
        .collect();
    line.picks = taken
        .iter()
        .map(|(tag, volume)| Pick::of(*tag, volume.ul()))
        .collect();
    if !expired.is_empty() {
        let grave = if line.short > 0 {
            Verdict::Stop
        } else {
            Verdict::Watch
        };
        line.raise(
            grave,
            format!("Past the date on the day: {}.", list(&expired)),
        );
        line.todo(format!("Bin {} by local rules.", list(&expired)));
    }
    let notice = scene.policy().value(PolicyKey::ExpiryNoticeDays);
    let soon: Vec<Tag> = picked
        .iter()
        .filter(|piece| {
            let last = piece.bottle().and_then(|bottle| bottle.expiry);
            last.is_some_and(|last| days_between(scene.day, last) <= notice)
        })
        .map(|piece| piece.tag)
        .collect();
    if !soon.is_empty() {
        line.raise(Verdict::Watch, format!("Expires soon: {}.", list(&soon)));
    }
    ask_to_count(
        &mut line,
        "Weigh",
        picked.iter().map(|piece| piece.as_ref()),
    );
    ask_to_move(&mut line, scene, picked.iter().map(|piece| piece.as_ref()));
    if line.short > 0 {
        line.todo(format!("Buy {name} before the start."));
    }
    line
}

fn days_between(from: jiff::civil::Date, to: jiff::civil::Date) -> i64 {
    from.until(to)
        .map_or(i64::MAX, |span| i64::from(span.get_days()))
}

/// The towel line; none when the routine uses no towels.
pub(super) fn towel_line(scene: &Scene<'_>, routine: &Routine, plan: &Plan) -> Option<Line> {
    let make = routine
        .towel_make
        .as_ref()
        .filter(|_| plan.towel_count > 0)?;
    let name = scene.book.make(make).map_or("", |make| make.name.as_str());
    let mut line = Line::new(LineKind::Towel, None, name);
    line.make = Some(make.clone());
    let bundles = offer_bundles(scene, make);
    let have = bundles
        .iter()
        .fold(0_i64, |sum, (_, clean)| sum.saturating_add(*clean));
    line.counts(plan.towel_count, have, Unit::Piece);
    let (taken, _) = take_count(&bundles, plan.towel_count);
    line.picks = taken
        .iter()
        .map(|(tag, count)| Pick::of(*tag, *count))
        .collect();
    let picked = || {
        bundles
            .iter()
            .map(|(piece, _)| piece.as_ref())
            .filter(|piece| taken.iter().any(|(tag, _)| *tag == piece.tag))
    };
    say_washes(&mut line, scene, make, picked());
    ask_to_count(&mut line, "Count", picked());
    ask_to_move(&mut line, scene, picked());
    if line.short > 0 {
        say_what_to_wash(&mut line, scene, make);
        line.todo(format!(
            "Buy {} more of {name}, or leave panels out.",
            line.short
        ));
    }
    Some(line)
}

/// Watches bundles that are due for a look, and names those that should go down a grade.
fn say_washes<'a>(
    line: &mut Line,
    scene: &Scene<'_>,
    make: &Id,
    picked: impl Iterator<Item = &'a Piece>,
) {
    let Some(Figures::Towel(figures)) = scene.book.make(make).map(|make| &make.figures) else {
        return;
    };
    let inspect = figures.inspect_wash_count.unwrap_or(i64::MAX);
    let due: Vec<Tag> = picked
        .filter(|piece| {
            piece
                .bundle()
                .is_some_and(|bundle| bundle.wash_count >= inspect)
        })
        .map(|piece| piece.tag)
        .collect();
    if !due.is_empty() {
        line.raise(
            Verdict::Watch,
            format!("{inspect} washes or more: {}.", list(&due)),
        );
        line.todo(format!(
            "Inspect {} for hard edges and matted nap before the job.",
            list(&due)
        ));
    }
    let down: Vec<Tag> = scene
        .book
        .pieces_of(make)
        .filter(|piece| {
            piece
                .bundle()
                .is_some_and(|bundle| bundle.grade == TowelGrade::Residue)
        })
        .filter(|piece| is_demotable(scene.book, piece))
        .map(|piece| piece.tag)
        .collect();
    if !down.is_empty() {
        line.raise(
            Verdict::Watch,
            format!("Washed too often for residue: {}.", list(&down)),
        );
        line.todo(format!("Take {} down a grade.", list(&down)));
    }
}

/// Names what a wash would bring back, and by when.
fn say_what_to_wash(line: &mut Line, scene: &Scene<'_>, make: &Id) {
    let dry = match scene.book.make(make).map(|make| &make.figures) {
        Some(Figures::Towel(towel)) => towel.dry_time_s.unwrap_or(Seconds::ZERO),
        _ => Seconds::ZERO,
    };
    let offset_s = scene.utc_offset_s;
    for (piece, _) in offer_bundles(scene, make) {
        let Some(bundle) = piece.bundle() else {
            continue;
        };
        if bundle.soiled_count > 0 {
            line.raise(
                Verdict::Stop,
                format!("{} soiled in {}.", bundle.soiled_count, piece.tag),
            );
            match wash_by(scene, dry) {
                Some(by) => line.todo(format!(
                    "Wash {} by {} to be dry in time: {} towels.",
                    piece.tag,
                    local(offset_s, by),
                    bundle.soiled_count
                )),
                None => line.todo(format!("{} cannot dry by the start.", piece.tag)),
            }
        }
        if bundle.drying_count > 0
            && let Readiness::Drying(until) = piece.readiness.at(scene.starts_at)
        {
            line.todo(format!(
                "{} in {} should be dry on {}; mark dry when dry to the touch.",
                bundle.drying_count,
                piece.tag,
                local(offset_s, until)
            ));
        }
    }
}

/// One line a sundry make.
pub(super) fn sundry_lines(scene: &Scene<'_>, plan: &Plan) -> Vec<Line> {
    plan.sundries
        .iter()
        .filter_map(|(id, need)| {
            let make = scene.book.make(id)?;
            let Figures::Sundry(figures) = &make.figures else {
                return None;
            };
            let mut line = Line::new(LineKind::Sundry, None, make.name.clone());
            line.make = Some(id.clone());
            let held = offer_sundries(scene, id);
            let have = held
                .iter()
                .fold(0_i64, |sum, (_, left)| sum.saturating_add((*left).max(0)));
            line.counts(*need, have, figures.unit);
            let (taken, _) = take_count(&held, *need);
            line.picks = taken
                .iter()
                .map(|(tag, quantity)| Pick::of(*tag, *quantity))
                .collect();
            let picked = || {
                held.iter()
                    .map(|(piece, _)| piece.as_ref())
                    .filter(|piece| taken.iter().any(|(tag, _)| *tag == piece.tag))
            };
            ask_to_count(&mut line, "Count", picked());
            ask_to_move(&mut line, scene, picked());
            if line.short > 0 {
                line.todo(format!("Buy {} before the start.", make.name));
            }
            Some(line)
        })
        .collect()
}
