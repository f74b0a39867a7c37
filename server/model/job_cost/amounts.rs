//! What a job takes, by make: expected with its range before, and used after it.
//!
//! Serves the cost sheet. Quantities are whole numbers: µL, towels, a sundry's unit, and millionths of
//! a pad's or plate's rated life; no price is looked at here.

use fettlebook_quantity::{exact_f64, round_to_i64};
use rust_decimal::Decimal;

use super::{CostKind, CostLine};
use crate::Book;
use crate::check::likely_use_of;
use crate::deed::{Deed, Entry};
use crate::ids::{Id, Tag};
use crate::job::Job;
use crate::kit::{Piece, Readiness, State};
use crate::lives::{pad_figures, permille};
use crate::make::Figures;
use crate::pick::damage_of;
use crate::plan::{Plan, routine_of, step_makes};
use crate::policy::PolicyKey;
use crate::refusal::Refusal;
use crate::wear::{Work, damage};
use crate::{Moment, pick};

/// Millionths in a whole life.
pub(super) const MILLIONTHS: f64 = 1e6;
/// The normal deviate that one in ten exceeds.
const DEVIATE_90: f64 = 1.281_551_565_544_6;
const MS_PER_HOUR: f64 = 3_600_000.0;

/// What is expected of one make: typical, and what one in ten jobs stays below or goes beyond.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Spread {
    pub(super) kind: CostKind,
    pub(super) make: Id,
    pub(super) low: i64,
    pub(super) typical: i64,
    pub(super) high: i64,
}

/// What was used of one make, and why it may differ.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Amount {
    pub(super) kind: CostKind,
    pub(super) make: Id,
    pub(super) quantity: i64,
    /// Pads that failed in the job, with the rest of their life that is lost with them.
    pub(super) lost: Vec<(Tag, i64)>,
}

impl Spread {
    /// Nothing of a make.
    pub(super) fn none(kind: CostKind, make: &Id) -> Self {
        Self {
            kind,
            make: make.clone(),
            low: 0,
            typical: 0,
            high: 0,
        }
    }

    fn sure(kind: CostKind, make: &Id, quantity: i64) -> Self {
        Self {
            low: quantity,
            typical: quantity,
            high: quantity,
            ..Self::none(kind, make)
        }
    }
}

impl Amount {
    /// Nothing of a make.
    pub(super) fn none(kind: CostKind, make: &Id) -> Self {
        Self {
            kind,
            make: make.clone(),
            quantity: 0,
            lost: Vec::new(),
        }
    }

    /// Whether it is of this make, for this.
    pub(super) fn is_of(&self, kind: CostKind, make: &Id) -> bool {
        self.kind == kind && self.make == *make
    }
}

/// What a job is expected to take.
pub(super) fn expected(book: &Book, job: &Job, plan: &Plan) -> Result<Vec<Spread>, Refusal> {
    let mut all = Vec::new();
    for (make, likely, _) in likely_use_of(book, job, plan) {
        all.push(Spread {
            low: likely.low.ul(),
            typical: likely.expected.ul(),
            high: likely.high.ul(),
            ..Spread::none(CostKind::Liquid, &make)
        });
    }
    let routine = routine_of(book, job)?;
    let severity = permille(book.policy(), PolicyKey::SeverityLogSdPermille) * DEVIATE_90;
    for (planned, step) in plan.with_steps(routine) {
        let pad = step_makes(book, step, "routine.steps")?.pad;
        let worked = damage(planned.work(), pad.rated_work_sections.unwrap_or(0), 0, 0);
        let washes = damage(
            Work::ZERO,
            0,
            planned.pad_count,
            pad.rated_wash_count.unwrap_or(0),
        );
        let life = |factor: f64| round_to_i64((worked * factor + washes) * MILLIONTHS);
        add(
            &mut all,
            Spread {
                low: life((-severity).exp()),
                typical: life(1.0),
                high: life(severity.exp()),
                ..Spread::none(CostKind::Pads, &step.pad_make)
            },
        );
        if let Some((make, quantity)) =
            plate_life(book, job, step, planned.time_ms, planned.pad_count)
        {
            add(&mut all, Spread::sure(CostKind::Plates, &make, quantity));
        }
    }
    if let Some(make) = routine.towel_make.as_ref().filter(|_| plan.towel_count > 0) {
        all.push(Spread::sure(CostKind::Towels, make, plan.towel_count));
    }
    for (make, quantity) in &plan.sundries {
        all.push(Spread::sure(CostKind::Sundries, make, *quantity));
    }
    Ok(all)
}

/// The plate a step would take and the part of its life that goes, in millionths.
fn plate_life(
    book: &Book,
    job: &Job,
    step: &crate::job::Step,
    time_ms: i64,
    change_count: i64,
) -> Option<(Id, i64)> {
    let makes = step_makes(book, step, "routine.steps").ok()?;
    let scene = pick::Scene::of(book, job, Moment::MIN);
    let plates = pick::offer_plates(&scene, makes.machine, makes.pad.face_mm);
    let make = &plates.first()?.piece.make;
    let life = plate_part(book, make, time_ms, change_count)?;
    Some((make.clone(), life))
}

fn plate_part(book: &Book, make: &Id, time_ms: i64, change_count: i64) -> Option<i64> {
    let Figures::Plate(figures) = &book.make(make)?.figures else {
        return None;
    };
    let part = |used: f64, rated: Option<i64>| {
        rated
            .filter(|rated| *rated > 0)
            .map_or(0.0, |rated| used / exact_f64(rated))
    };
    let life = part(exact_f64(time_ms) / MS_PER_HOUR, figures.rated_run_h)
        + part(exact_f64(change_count), figures.rated_change_count);
    Some(round_to_i64(life * MILLIONTHS))
}

/// Adds to what is expected of the same make already.
fn add(all: &mut Vec<Spread>, more: Spread) {
    let same = |one: &&mut Spread| one.kind == more.kind && one.make == more.make;
    match all.iter_mut().find(same) {
        Some(one) => {
            one.low = one.low.saturating_add(more.low);
            one.typical = one.typical.saturating_add(more.typical);
            one.high = one.high.saturating_add(more.high);
        }
        None => all.push(more),
    }
}

/// What the entries about a job say was used, reversed ones left out.
pub(super) fn used(book: &Book, entries: &[Entry]) -> Vec<Amount> {
    let mut all: Vec<Amount> = Vec::new();
    let standing = entries
        .iter()
        .filter(|entry| book.reversed_by(entry.seq).is_none());
    for entry in standing {
        for deed in &entry.deeds {
            let Some(amount) = of_deed(book, entry, deed) else {
                continue;
            };
            match all.iter_mut().find(|one| amount.is_of(one.kind, &one.make)) {
                Some(one) => {
                    one.quantity = one.quantity.saturating_add(amount.quantity);
                    one.lost.extend(amount.lost);
                }
                None => all.push(amount),
            }
        }
    }
    all
}

/// What one deed of a job's log used.
fn of_deed(book: &Book, entry: &Entry, deed: &Deed) -> Option<Amount> {
    deed.within().filter(|within| within.job.is_some())?;
    let piece = |tag: &Tag| book.piece(*tag);
    let amount = |piece: &Piece, kind, quantity| Amount {
        quantity,
        ..Amount::none(kind, &piece.make)
    };
    match deed {
        Deed::LiquidUsed {
            tag,
            volume_ul,
            planned_ul,
            ..
        } => {
            let piece = piece(tag)?;
            let weighed = weighed_share(piece, planned_ul.ul(), entry.done_at);
            Some(amount(
                piece,
                CostKind::Liquid,
                weighed.unwrap_or(volume_ul.ul()),
            ))
        }
        Deed::PadUsed { tag, work, .. } => {
            let piece = piece(tag)?;
            let figures = pad_figures(book.make(&piece.make)?)?;
            let life = damage(
                work.work(),
                figures.rated_work_sections.unwrap_or(0),
                1,
                figures.rated_wash_count.unwrap_or(0),
            );
            let lost = lost_life(book, piece, entry);
            let quantity = round_to_i64(life * MILLIONTHS).saturating_add(lost.unwrap_or(0));
            Some(Amount {
                lost: lost.map(|lost| (*tag, lost)).into_iter().collect(),
                ..amount(piece, CostKind::Pads, quantity)
            })
        }
        Deed::PlateUsed {
            tag,
            time_ms,
            change_count,
            ..
        } => {
            let piece = piece(tag)?;
            let life = plate_part(book, &piece.make, *time_ms, *change_count)?;
            Some(amount(piece, CostKind::Plates, life))
        }
        Deed::TowelsUsed {
            tag, used_count, ..
        } => Some(amount(piece(tag)?, CostKind::Towels, *used_count)),
        Deed::SundryUsed { tag, quantity, .. } => {
            Some(amount(piece(tag)?, CostKind::Sundries, *quantity))
        }
        _ => None,
    }
}

/// A job's share, by plan, of what was gone from a bottle when it was next weighed; `None` when it
/// was not.
fn weighed_share(piece: &Piece, planned_ul: i64, done_at: Moment) -> Option<i64> {
    let State::Bottle(bottle) = &piece.state else {
        return None;
    };
    let stretch = bottle
        .tally
        .stretches
        .iter()
        .find(|stretch| stretch.until >= done_at)?;
    let (actual, planned) = (stretch.actual_ul.ul(), stretch.planned_ul.ul());
    let share = i128::from(actual)
        .checked_mul(planned_ul.into())?
        .checked_div(planned.into())?;
    i64::try_from(share).ok()
}

/// What is left of the rated life of a pad that this entry says failed, in millionths.
fn lost_life(book: &Book, piece: &Piece, entry: &Entry) -> Option<i64> {
    let failed_here = entry.deeds.iter().any(
        |deed| matches!(deed, Deed::Binned { tag, reason } if *tag == piece.tag && reason.is_failure()),
    );
    let stands = matches!(piece.readiness, Readiness::Binned(_));
    let left = 1.0 - damage_of(book, piece)?;
    (failed_here && stands && left > 0.0).then(|| round_to_i64(left * MILLIONTHS))
}

/// What one job in ten stays below and goes beyond: the spreads of the lines, taken as independent,
/// about the sum of the typical costs. Formula: typical ± √Σ(distance of a line's end)².
pub(super) fn joint_range(lines: &[CostLine], typical: Decimal) -> (Decimal, Decimal) {
    let distance = |of: &dyn Fn(&CostLine) -> Decimal| {
        let squares = lines.iter().map(|line| {
            let apart = f64::try_from(of(line)).unwrap_or(0.0);
            apart * apart
        });
        let spread = squares.sum::<f64>().sqrt();
        // To a hundredth of the currency: a spread is an estimate.
        Decimal::new(round_to_i64(spread * 100.0), 2)
    };
    let below = distance(&|line| line.typical.amount.saturating_sub(line.low.amount));
    let above = distance(&|line| line.high.amount.saturating_sub(line.typical.amount));
    (
        typical.saturating_sub(below).max(Decimal::ZERO),
        typical.saturating_add(above),
    )
}
