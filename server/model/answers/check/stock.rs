//! The lines of what runs out: liquids, towels, sundries.
//!
//! Serves the check. What is short is never called enough because it could be washed or bought in
//! time: the line says so and stands until it has been done.

use std::sync::Arc;

use fettlebook_quantity::{Seconds, Volume};
use jiff::civil::Date;

use super::line::{Line, LineKind, Remedy, Verdict, local, tags_where};
use crate::ground::exact::ceil_div;
use crate::ground::ids::list;
use crate::ground::ids::{Id, Tag};
use crate::ready::pick::{
    Holding, Scene, is_demotable, offer_bottles, offer_bundles, offer_sundries, wash_by,
};
use crate::ready::plan::Plan;
use crate::ready::real_use::RealUse;
use crate::trade::job::Routine;
use crate::trade::kit::{Piece, Readiness};
use crate::trade::make::{Figures, TowelFigures, Unit};
use crate::trade::policy::PolicyKey;
use crate::trade::towel::TowelGrade;

/// One line a liquid make, for all the steps that use it.
pub(super) fn liquid_lines(
    scene: &Scene<'_>,
    routine: &Routine,
    plan: &Plan,
    target: f64,
) -> Vec<Line> {
    plan.liquid_needs(routine)
        .into_iter()
        .map(|(make, first_step, need)| liquid_line(scene, make, first_step, need, target))
        .collect()
}

fn liquid_line(scene: &Scene<'_>, make: &Id, step: &Id, need: Volume, target: f64) -> Line {
    let name = scene.book.make(make).map_or("", |make| make.name.as_str());
    let mut line = Line::new(LineKind::Liquid, Some(step), name);
    line.make = Some(make.clone());
    let bottles = offer_bottles(scene, make);
    let real = RealUse::of(scene.book, make, need);
    let likely = real.of_job(need);
    let picked = line.draws(&bottles.usable, likely.expected.ul(), Unit::Microlitre);
    let chance = likely.at_most(Volume::from_ul(line.have));
    line.chance = Some(chance);
    line.rests_on = real.rests_on();
    line.planned = Some(need.ul());
    say_expiry(&mut line, scene, &bottles.expired, &picked);
    line.ask_to_measure("Weigh", &picked);
    line.ask_to_move(scene, &picked);
    if line.short > 0 {
        line.todo(format!("Buy {name} before the start."));
        line.buy = 1;
    } else if chance < target {
        line.remedy = Some(Remedy {
            buy: 1,
            todo: format!("Take another bottle of {name} along, or buy one."),
        });
    }
    line
}

/// Names the bottles past their date on the day, and those picked that will soon be.
fn say_expiry(line: &mut Line, scene: &Scene<'_>, expired: &[Tag], picked: &[Arc<Piece>]) {
    if !expired.is_empty() {
        let expired = list(expired);
        line.raise(
            Verdict::Watch,
            format!("Past the date on the day: {expired}."),
        );
        line.todo(format!("Bin {expired} by local rules."));
    }
    let notice = scene.policy().value(PolicyKey::ExpiryNoticeDays);
    let soon = tags_where(picked, |piece| {
        let last = piece.bottle().and_then(|bottle| bottle.expiry);
        last.is_some_and(|last| days_between(scene.day, last) <= notice)
    });
    if !soon.is_empty() {
        line.raise(Verdict::Watch, format!("Expires soon: {}.", list(&soon)));
    }
}

fn days_between(from: Date, to: Date) -> i64 {
    from.until(to)
        .map_or(i64::MAX, |span| i64::from(span.get_days()))
}

/// The towel line; none when the routine uses no towels.
pub(super) fn towel_line(scene: &Scene<'_>, routine: &Routine, plan: &Plan) -> Option<Line> {
    let id = routine
        .towel_make
        .as_ref()
        .filter(|_| plan.towel_count > 0)?;
    let make = scene.book.make(id)?;
    let Figures::Towel(figures) = &make.figures else {
        return None;
    };
    let mut line = Line::new(LineKind::Towel, None, make.name.clone());
    line.make = Some(id.clone());
    let bundles = offer_bundles(scene, id);
    let picked = line.draws(&bundles, plan.towel_count, Unit::Piece);
    say_washes(&mut line, scene, id, figures, &picked);
    line.ask_to_measure("Count", &picked);
    line.ask_to_move(scene, &picked);
    line.buy = line.short;
    if line.short > 0 {
        say_what_to_wash(&mut line, scene, figures, &bundles);
        line.todo(format!(
            "Buy {} more of {}, or leave panels out.",
            line.short, make.name
        ));
    }
    Some(line)
}

/// Watches picked bundles that are due for a look, and names all that should go down a grade.
fn say_washes(
    line: &mut Line,
    scene: &Scene<'_>,
    make: &Id,
    figures: &TowelFigures,
    picked: &[Arc<Piece>],
) {
    if let Some(limit) = figures.inspect_wash_count {
        let due = tags_where(picked, |piece| {
            piece
                .bundle()
                .is_some_and(|bundle| bundle.wash_count >= limit)
        });
        if !due.is_empty() {
            let due = list(&due);
            line.raise(Verdict::Watch, format!("{limit} washes or more: {due}."));
            line.todo(format!(
                "Inspect {due} for hard edges and matted nap before the job."
            ));
        }
    }
    let down = tags_where(scene.book.pieces_of(make), |piece| {
        let takes_residue = piece
            .bundle()
            .is_some_and(|bundle| bundle.grade == TowelGrade::Residue);
        takes_residue && is_demotable(scene.book, piece)
    });
    if !down.is_empty() {
        let down = list(&down);
        line.raise(
            Verdict::Watch,
            format!("Washed too often for residue: {down}."),
        );
        line.todo(format!("Take {down} down a grade."));
    }
}

/// Names what a wash would bring back, and by when.
fn say_what_to_wash(
    line: &mut Line,
    scene: &Scene<'_>,
    figures: &TowelFigures,
    bundles: &[Holding],
) {
    let wash_by = wash_by(scene, figures.dry_time_s.unwrap_or(Seconds::ZERO));
    for Holding { piece, .. } in bundles {
        let Some(bundle) = piece.bundle() else {
            continue;
        };
        let (tag, soiled) = (piece.tag, bundle.soiled_count);
        if soiled > 0 {
            line.raise(Verdict::Stop, format!("{soiled} soiled in {tag}."));
            match wash_by {
                Some(by) => line.todo(format!(
                    "Wash {tag} by {} to be dry in time: {soiled} towels.",
                    local(scene, by)
                )),
                None => line.todo(format!("{tag} cannot dry by the start.")),
            }
        }
        if bundle.drying_count > 0
            && let Readiness::Drying(until) = piece.readiness.at(scene.starts_at)
        {
            line.todo(format!(
                "{} in {tag} should be dry on {}; mark dry when dry to the touch.",
                bundle.drying_count,
                local(scene, until)
            ));
        }
    }
}

/// One line a sundry make.
pub(super) fn sundry_lines(scene: &Scene<'_>, plan: &Plan) -> Vec<Line> {
    plan.sundries
        .iter()
        .filter_map(|(make, need)| sundry_line(scene, make, *need))
        .collect()
}

fn sundry_line(scene: &Scene<'_>, id: &Id, need: i64) -> Option<Line> {
    let make = scene.book.make(id)?;
    let Figures::Sundry(figures) = &make.figures else {
        return None;
    };
    let mut line = Line::new(LineKind::Sundry, None, make.name.clone());
    line.make = Some(id.clone());
    let picked = line.draws(&offer_sundries(scene, id), need, figures.unit);
    line.ask_to_measure("Count", &picked);
    line.ask_to_move(scene, &picked);
    if line.short > 0 {
        line.todo(format!("Buy {} before the start.", make.name));
        line.buy = ceil_div(i128::from(line.short), i128::from(figures.pack_quantity));
    }
    Some(line)
}
