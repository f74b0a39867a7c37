//! What a job is expected to take, by make, with its range.
//!
//! Serves the cost sheet. Quantities are whole numbers: µL, towels, a sundry's unit, and millionths of
//! a pad's or plate's rated life; no price is looked at here. What a job itself taught is no part of
//! what was expected of it.

use std::sync::Arc;

use fettlebook_quantity::round_to_i64;
use rust_decimal::Decimal;

use super::{CostKind, CostLine};
use crate::Book;
use crate::Moment;
use crate::answers::check::{likely_sundries, likely_use};
use crate::book::change::Stamp;
use crate::book::deed::{Deed, Record};
use crate::ground::ids::{Id, Subject, Tag};
use crate::ground::refusal::Refusal;
use crate::maths::cost::quantise;
use crate::ready::pick;
use crate::ready::plan::{Plan, routine_of, step_makes};
use crate::ready::towel_use::TowelUse;
use crate::trade::job::{Job, JobState};
use crate::trade::kit::{BottleState, BundleState, Piece, State, SundryState};
use crate::trade::make::Figures;
use crate::trade::policy::{PolicyKey, permille};
use crate::trade::wear::{Work, damage, plate_damage};

/// Millionths in a whole life.
pub(in crate::answers) const MILLIONTHS: f64 = 1e6;
/// The normal deviate that one in ten exceeds.
const DEVIATE_90: f64 = 1.281_551_565_544_6;

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

/// What a job is expected to take, or was before it was done.
pub(super) fn expected(book: &Book, job: &Job, plan: &Plan) -> Result<Vec<Spread>, Refusal> {
    let mut all = Vec::new();
    let taught = match job.state {
        JobState::Done(at) => taught_before(book, at),
        JobState::Booked | JobState::CalledOff => book.clone(),
    };
    for (make, likely, _) in likely_use(&taught, plan) {
        all.push(Spread {
            low: likely.low,
            typical: likely.expected,
            high: likely.high,
            ..Spread::none(CostKind::Liquid, &make)
        });
    }
    let routine = routine_of(book, job)?;
    let severity = permille(book.policy(), PolicyKey::SeverityLogSdPermille) * DEVIATE_90;
    for planned in &plan.steps {
        let step = &planned.step;
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
        let towels = TowelUse::of(&taught, routine, plan);
        let (low, high) = towels.range();
        all.push(Spread {
            low,
            typical: towels.count(),
            high,
            ..Spread::none(CostKind::Towels, make)
        });
    }
    for wipe in &plan.wipe_downs {
        let towels = Spread::sure(CostKind::Towels, &wipe.make, wipe.towel_count);
        add(&mut all, towels);
    }
    for (make, likely, _) in likely_sundries(&taught, plan) {
        all.push(Spread {
            low: likely.low,
            typical: likely.expected,
            high: likely.high,
            ..Spread::none(CostKind::Sundries, &make)
        });
    }
    Ok(all)
}

/// The book as if nothing had been weighed or counted, nor towels said in a log, from a moment on.
fn taught_before(book: &Book, at: Moment) -> Book {
    let mut before = book.clone();
    for piece in book.pieces() {
        let state = match &piece.state {
            State::Bottle(bottle) if bottle.tally.is_taught_from(at) => {
                let tally = bottle.tally.before(at);
                let bottle = bottle.clone();
                State::Bottle(BottleState { tally, ..bottle })
            }
            State::Sundry(sundry) if sundry.tally.is_taught_from(at) => {
                let tally = sundry.tally.before(at);
                let sundry = sundry.clone();
                State::Sundry(SundryState { tally, ..sundry })
            }
            State::Bundle(bundle) if bundle.wipings.iter().any(|one| one.done_at >= at) => {
                State::Bundle(BundleState {
                    wipings: bundle.wipings.before(at),
                    ..bundle.clone()
                })
            }
            _ => continue,
        };
        let piece = Arc::new(Piece {
            state,
            ..Piece::clone(piece)
        });
        let restated = Deed::Restated {
            subject: Subject::Piece(piece.tag),
            record: Some(Record::Piece(piece)),
        };
        let stamp = Stamp::unreported(book.head(), at);
        before.take(&restated, stamp);
    }
    before
}

/// The plate a step would take and the part of its life that goes, in millionths.
pub(in crate::answers) fn plate_life(
    book: &Book,
    job: &Job,
    step: &crate::trade::job::Step,
    time_ms: i64,
    change_count: i64,
) -> Option<(Id, i64)> {
    let makes = step_makes(book, step, "routine.steps").ok()?;
    let scene = pick::Scene::of(book, job, Moment::MIN);
    let plates = pick::offer_plates(&scene, makes.machine?, makes.pad.face_mm);
    let make = &plates.first()?.piece.make;
    let life = plate_part(book, make, time_ms, change_count)?;
    Some((make.clone(), life))
}

pub(super) fn plate_part(book: &Book, make: &Id, time_ms: i64, change_count: i64) -> Option<i64> {
    let Figures::Plate(figures) = &book.make(make)?.figures else {
        return None;
    };
    let life = plate_damage(
        time_ms,
        figures.rated_run_h,
        change_count,
        figures.rated_change_count,
    );
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

/// What one job in ten stays below and goes beyond: the spreads of the lines, taken as independent,
/// about the sum of the typical costs. Formula: typical ± √Σ(distance of a line's end)².
pub(super) fn joint_range(lines: &[CostLine], typical: Decimal, places: u32) -> (Decimal, Decimal) {
    let distance = |of: &dyn Fn(&CostLine) -> Decimal| {
        let squares = lines.iter().map(|line| {
            let apart = f64::try_from(of(line)).unwrap_or(0.0);
            apart * apart
        });
        let spread = squares.sum::<f64>().sqrt();
        let exact = Decimal::from_f64_retain(spread).unwrap_or_default();
        quantise(exact, places).unwrap_or_default()
    };
    let below = distance(&|line| line.typical.amount.saturating_sub(line.low.amount));
    let above = distance(&|line| line.high.amount.saturating_sub(line.typical.amount));
    (
        typical.saturating_sub(below).max(Decimal::ZERO),
        typical.saturating_add(above),
    )
}
