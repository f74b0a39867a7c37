//! The towel lines: enough clean sides for what a job wipes.
//!
//! What is short is never called enough because it could be washed or bought in time: the line says so
//! and stands until it has been done.

use std::sync::Arc;

use fettlebook_quantity::Seconds;

use super::line::{Line, LineKind, Verdict, local, tags_where};
use crate::ground::ids::{Id, list};
use crate::ready::pick::{Holding, Scene, is_demotable, offer_bundles, wash_by};
use crate::ready::plan::Plan;
use crate::ready::towel_use::TowelUse;
use crate::trade::job::Routine;
use crate::trade::kit::{Piece, Readiness};
use crate::trade::make::{Figures, TowelFigures, Unit};
use crate::trade::towel::TowelGrade;

/// A job stops where one in so many of its towels is missing, or more: a third. Basis: common
/// practice, no source.
const STOP_PARTS: i64 = 3;

/// The towel line, none when the routine uses no towels, and one for each make that wipes down.
pub(super) fn towel_lines(scene: &Scene<'_>, routine: &Routine, plan: &Plan) -> Vec<Line> {
    let residue = routine
        .towel_make
        .as_ref()
        .filter(|_| plan.towel_count > 0)
        .and_then(|make| {
            let likely = TowelUse::of(scene.book, routine, plan);
            let mut line = line(scene, make, TowelGrade::Residue, likely.count())?;
            line.rests_on = likely.rests_on();
            Some(line)
        });
    residue
        .into_iter()
        .chain(wipe_down_lines(scene, plan))
        .collect()
}

/// A line for each make that wipes down, for all the steps it does so after.
fn wipe_down_lines(scene: &Scene<'_>, plan: &Plan) -> Vec<Line> {
    let mut needs: Vec<(&Id, &Id, i64)> = Vec::new();
    for wipe in &plan.wipe_downs {
        match needs.iter_mut().find(|(make, ..)| **make == wipe.make) {
            Some((.., count)) => *count = count.saturating_add(wipe.towel_count),
            None => needs.push((&wipe.make, &wipe.after, wipe.towel_count)),
        }
    }
    needs
        .into_iter()
        .filter_map(|(make, after, count)| {
            let mut line = line(scene, make, TowelGrade::Final, count)?;
            line.step = Some(after.clone());
            line.what = format!("{}, wipe-down", line.what);
            Some(line)
        })
        .collect()
}

/// The line of so many towels of a make and grade.
fn line(scene: &Scene<'_>, id: &Id, grade: TowelGrade, need: i64) -> Option<Line> {
    let make = scene.book.make(id)?;
    let Figures::Towel(figures) = &make.figures else {
        return None;
    };
    let mut line = Line::new(LineKind::Towel, None, make.name.clone());
    line.make = Some(id.clone());
    let bundles = offer_bundles(scene, id, grade);
    let picked = line.draws_as(scene, &bundles, need, Unit::Piece, gravity);
    say_washes(&mut line, scene, (id, grade), figures, &picked);
    line.ask_to_measure("Count", &picked);
    line.ask_to_move(scene, &picked);
    line.buy = line.short;
    if line.short > 0 {
        say_what_to_wash(&mut line, scene, figures, &bundles);
        if line.verdict == Verdict::Watch {
            line.todo("Fold them so that every side is used once; a full side marks the paint.");
        }
    }
    Some(line)
}

/// How grave it is to be so many towels short: a few can be made up for, a third of them cannot.
fn gravity(need: i64, short: i64) -> Verdict {
    if short.saturating_mul(STOP_PARTS) >= need {
        Verdict::Stop
    } else {
        Verdict::Watch
    }
}

/// Watches picked bundles that are due for a look, and names all that should go down a grade.
fn say_washes(
    line: &mut Line,
    scene: &Scene<'_>,
    (make, grade): (&Id, TowelGrade),
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
        let is_of_grade = piece.bundle().is_some_and(|bundle| bundle.grade == grade);
        is_of_grade && is_demotable(scene.book, piece)
    });
    if !down.is_empty() {
        let down = list(&down);
        line.raise(
            Verdict::Watch,
            format!("Washed too often for {grade}: {down}."),
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
        let (tag, soiled) = (piece.tag, bundle.soiled_there());
        if soiled > 0 {
            line.raise(Verdict::Go, format!("{soiled} soiled in {tag}."));
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
