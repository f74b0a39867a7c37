//! Kit that goes round: pads and towels that are worked, washed, dried and worked again.
//!
//! Serves the keep levels. As many must be there as the jobs of a busy stretch have away at once, and
//! for pads as many more as will likely wear out before more can come.

use crate::Book;
use crate::answers::coming::{Coming, at_once, towel_demand};
use crate::book::damage::damage_of;
use crate::maths::chance::{PadAhead, poisson_binomial, retirements};
use crate::maths::supply::CountDemand;
use crate::ready::lives::MakeLife;
use crate::ready::pick::{added_damage, is_demotable};
use crate::ready::towel_use::grade_for;
use crate::trade::kit::Readiness;
use crate::trade::make::{Figures, Make, PadFigures, TowelFigures};

const S_A_DAY: i64 = 86_400;

/// Pads in service.
pub(super) fn pads_there(book: &Book, make: &Make) -> i64 {
    let pieces = book
        .pieces_of(&make.id)
        .filter(|piece| !matches!(piece.readiness, Readiness::Aside(_)));
    i64::try_from(pieces.count()).unwrap_or(i64::MAX)
}

/// Towels that may still be used for what their make is bought for.
pub(super) fn towels_there(book: &Book, make: &Make) -> i64 {
    let grade = grade_for(book, &make.id);
    let bundles = book.pieces_of(&make.id).filter(|piece| {
        !matches!(piece.readiness, Readiness::Aside(_)) && !is_demotable(book, piece)
    });
    bundles
        .filter_map(|piece| piece.bundle())
        .filter(|bundle| bundle.grade == grade)
        .fold(0, |sum, bundle| sum.saturating_add(bundle.total_count()))
}

/// Pads to keep over some days, `stage` being the book after the jobs that are booked in them.
pub(super) fn pads_kept(
    book: &Book,
    stage: &Book,
    coming: &[Coming<'_>],
    make: &Make,
    target: f64,
    days: i64,
) -> Option<i64> {
    let Figures::Pad(figures) = &make.figures else {
        return None;
    };
    let uses: Vec<&Coming<'_>> = coming
        .iter()
        .filter(|one| one.pad_steps(make).next().is_some())
        .collect();
    let of_job = uses.iter().map(|one| {
        one.pad_steps(make).fold(0_i64, |sum, step| {
            sum.saturating_add(step.pad_count)
                .saturating_add(step.spare_count)
        })
    });
    let away = figures
        .dry_time_s
        .map_or(0, |dry| dry.s().div_euclid(S_A_DAY));
    let need = of_job
        .max()?
        .saturating_mul(at_once(&uses, away, days).unwrap_or(1));
    // Too few are there only if another job comes.
    let none_comes = none_comes(book, &uses, days)?;
    let of_those = (target - none_comes) / (1.0 - none_comes);
    if of_those <= 0.0 || of_those.is_nan() {
        return Some(0);
    }
    let unbooked = wearing_out(book, coming, make, figures, days)?;
    let booked = CountDemand::from_chances(worn_by_booked(book, stage, make, figures)?).ok()?;
    let level = booked.plus(&unbooked).ok()?.level(of_those).ok()?;
    Some(need.saturating_add(level))
}

/// Chance that no job comes within some days but one that is booked, which is the first to find the pads.
fn none_comes(book: &Book, uses: &[&Coming<'_>], days: i64) -> Option<f64> {
    let booked: usize = uses.iter().map(|one| one.booked_within(days).count()).sum();
    if booked > 1 {
        return Some(0.0);
    }
    uses.iter().try_fold(1.0, |chance, one| {
        let jobs = one.jobs(book, days)?.pieces(&[0.0, 1.0]).ok()?;
        Some(chance * jobs.at_most(0))
    })
}

/// Pads that wear out in jobs of some days that are not booked: a pad of any age fails in a job with the
/// share of a typical life that the job takes.
pub(super) fn wearing_out(
    book: &Book,
    coming: &[Coming<'_>],
    make: &Make,
    figures: &PadFigures,
    days: i64,
) -> Option<CountDemand> {
    let life = MakeLife::of(book, &make.id, figures).ok()?;
    let typical = life.belief.left_in_data(0.0, 0.5);
    let mut all = CountDemand::from_chances(vec![1.0]).ok()?;
    for one in coming {
        let mut failing = Vec::new();
        for step in one.pad_steps(make) {
            let share = (added_damage(step, figures, step.pad_count) / typical).min(1.0);
            let working = usize::try_from(step.pad_count).ok()?;
            failing.extend(std::iter::repeat_n(share, working));
        }
        let pads = one
            .jobs(book, days)?
            .pieces(&poisson_binomial(&failing))
            .ok()?;
        all = all.plus(&pads).ok()?;
    }
    Some(all)
}

/// Chances that none, one, two, … pads wear out by the work that booked jobs bring them.
fn worn_by_booked(
    book: &Book,
    stage: &Book,
    make: &Make,
    figures: &PadFigures,
) -> Option<Vec<f64>> {
    let life = MakeLife::of(book, &make.id, figures).ok()?;
    let pads: Vec<PadAhead> = stage
        .pieces_of(&make.id)
        .filter_map(|piece| {
            let then = damage_of(stage, piece)?;
            let now = book
                .piece(piece.tag)
                .and_then(|piece| damage_of(book, piece));
            let age = now.unwrap_or(0.0);
            Some(PadAhead {
                age,
                more: then - age,
            })
        })
        .collect();
    Some(retirements(&life.belief, &pads))
}

/// Towels to keep: what jobs have soiled or drying at once.
pub(super) fn towels_kept(
    book: &Book,
    coming: &[Coming<'_>],
    make: &Make,
    figures: &TowelFigures,
    target: f64,
    days: i64,
) -> Option<i64> {
    let uses: Vec<&Coming<'_>> = coming
        .iter()
        .filter(|one| one.towel_count(book, make).is_some())
        .collect();
    let away = figures
        .dry_time_s
        .map_or(0, |dry| dry.s().div_euclid(S_A_DAY));
    let of_job = uses
        .iter()
        .filter_map(|one| one.towel_count(book, make))
        .max()?;
    match at_once(&uses, away, days) {
        Some(jobs) => Some(of_job.saturating_mul(jobs)),
        None => {
            let demand = towel_demand(book, coming, make, away.saturating_add(1))?;
            demand.level(target).ok()
        }
    }
}
