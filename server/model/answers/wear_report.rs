//! The wear report: what pads of a make really last in this shop, and what is left of each.
//!
//! Serves whoever decides when a pad is done. It tells what was seen apart from what is believed, and
//! says on how little that may rest; it must never print a figure that rests on nothing as if it did.

mod words;

use fettlebook_quantity::exact_f64;

use crate::book::damage::{damage_of, wear_band};
use crate::ground::ids::{Id, Tag};
use crate::ground::refusal::{Reason, Refusal};
use crate::maths::chance::{PadAhead, Precision, carry_chance};
use crate::maths::life::{CurvePoint, Limits, kaplan_meier};
use crate::ready::lives::{
    LifeCounts, MakeLife, ShapeBasis, UsualJob, newer_pads_last_shorter, pad_figures, usual_job,
};
use crate::trade::kit::{Piece, Readiness};
use crate::trade::policy::{Policy, PolicyKey, permille};
use crate::trade::wear::Band;
use crate::{Book, Moment};

/// Points of the believed curve.
const BELIEF_POINTS: i64 = 60;
/// Damage the believed curve is shown to at least.
const SHOWN_LEAST: f64 = 1.2;

/// How long something lasts: nine in ten more than `low`, half more than `typical`, one in ten more
/// than `high`.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct LifeRange {
    /// Exceeded with probability 0.9.
    pub low: f64,
    /// Exceeded with probability 0.5.
    pub typical: f64,
    /// Exceeded with probability 0.1.
    pub high: f64,
}

/// What is left of one pad.
#[derive(Debug, Clone, PartialEq)]
pub struct PadLeft {
    /// Tag.
    pub tag: Tag,
    /// Damage so far.
    pub damage: f64,
    /// Its band.
    pub band: Band,
    /// Readiness at the moment asked for.
    pub readiness: Readiness,
    /// Further damage it will take.
    pub damage_left: LifeRange,
    /// The same in usual jobs.
    pub jobs_left: LifeRange,
    /// What it rests on, a sentence.
    pub rests_on: String,
    /// Probability that it lasts one more usual job.
    pub next_job_chance: f64,
    /// The carry chance that the book aims at.
    pub carry_target: f64,
}

/// What pads of a make really last in this shop.
#[derive(Debug, Clone, PartialEq)]
pub struct MakeWear {
    /// Make.
    pub make: Id,
    /// Its name.
    pub name: String,
    /// How many ended, and how.
    pub counts: LifeCounts,
    /// What happened here.
    pub curve: Vec<CurvePoint>,
    /// Probability that a new pad lasts so long: damage and survival.
    pub belief: Vec<(f64, f64)>,
    /// Life of a new pad, as damage.
    pub life: LifeRange,
    /// The same in usual jobs.
    pub jobs: LifeRange,
    /// One usual job.
    pub usual: UsualJob,
    /// Shape in use.
    pub shape: f64,
    /// Whether the shape was fitted to those that wore out here.
    pub is_shape_fitted: bool,
    /// 95 % limits of the shape in use, when it was fitted to lives of which none has faded.
    pub shape_limits: Option<Limits>,
    /// Whether pads put to work lately last shorter than those before them.
    pub newer_last_shorter: bool,
    /// What the shop sees against the rating, a sentence; and that newer pads last shorter where they do.
    pub summary: String,
    /// What to keep in mind.
    pub caveats: Vec<String>,
    /// Pads in service, most used first.
    pub pads: Vec<PadLeft>,
    /// What the belief rests on, a sentence.
    pub rests_on: String,
    /// Damage at which pads left for another reason, least first.
    pub cut_off_damages: Vec<f64>,
}

/// The wear report of a pad make.
///
/// # Errors
/// When there is no such make, or it is of another sort.
pub fn make_wear(book: &Book, id: &Id, now: Moment) -> Result<MakeWear, Refusal> {
    let make = book
        .make(id)
        .ok_or_else(|| Refusal::no_id(Reason::MakeUnknown, "make", "make", id))?;
    let figures = pad_figures(make).ok_or_else(|| {
        let sort = make.figures.sort();
        Refusal::new(
            Reason::WrongSort,
            "make",
            format!("The make {id} is a {sort}; only the lives of pads are told."),
            "Name a pad make.",
        )
    })?;
    let life = MakeLife::of(book, id, figures)
        .map_err(|error| Refusal::new(Reason::NoPlan, "make", format!("{id}: {error}."), ""))?;
    let usual = usual_job(book, make, figures);
    let newer_last_shorter = newer_pads_last_shorter(book, id, figures);
    // A new pad lasts as one in the data that has no work behind it.
    let new = range(|probability| life.belief.left_in_data(0.0, probability));
    Ok(MakeWear {
        make: id.clone(),
        name: make.name.clone(),
        counts: life.counts,
        curve: kaplan_meier(&life.lives),
        belief: believed(&life, new),
        life: new,
        jobs: new.in_jobs(usual),
        usual,
        shape: life.belief.shape(),
        is_shape_fitted: matches!(life.shape_basis, ShapeBasis::Fitted(_)),
        shape_limits: life.shape_limits(),
        newer_last_shorter,
        summary: words::summary(
            &make.name,
            &life,
            new,
            new.in_jobs(usual),
            newer_last_shorter,
        ),
        caveats: words::caveats(book, figures, &life),
        pads: pads_left(book, id, &life, usual, now),
        rests_on: life.rests_on(),
        cut_off_damages: cut_offs(book, id),
    })
}

/// Pad makes that have or had pads, by id.
pub fn worn_makes(book: &Book) -> Vec<&Id> {
    book.makes()
        .filter(|make| pad_figures(make).is_some())
        .filter(|make| book.pieces().any(|piece| piece.make == make.id))
        .map(|make| &make.id)
        .collect()
}

/// What is left of a pad in service; `None` for any other piece.
pub fn pad_left(book: &Book, tag: Tag, now: Moment) -> Option<PadLeft> {
    let piece = book.piece(tag).filter(|piece| !piece.is_binned())?;
    piece.pad()?;
    let make = book.make(&piece.make)?;
    let figures = pad_figures(make)?;
    let life = MakeLife::of(book, &make.id, figures).ok()?;
    left_of(book, piece, &life, usual_job(book, make, figures), now)
}

pub(super) fn left_of(
    book: &Book,
    piece: &Piece,
    life: &MakeLife,
    usual: UsualJob,
    now: Moment,
) -> Option<PadLeft> {
    let damage = damage_of(book, piece)?;
    let damage_left = range(|probability| life.belief.left_in_data(damage, probability));
    Some(PadLeft {
        tag: piece.tag,
        damage,
        band: wear_band(book, piece)?,
        readiness: piece.readiness.at(now),
        damage_left,
        jobs_left: damage_left.in_jobs(usual),
        rests_on: life.rests_on(),
        next_job_chance: lasts_one_job(book.policy(), life, damage, usual),
        carry_target: permille(book.policy(), PolicyKey::CarryTargetPermille),
    })
}

/// Probability that a pad with so much damage lasts one more usual job, of which nobody knows yet how
/// hard it will be.
fn lasts_one_job(policy: &Policy, life: &MakeLife, damage: f64, usual: UsualJob) -> f64 {
    let pad = PadAhead {
        age: damage,
        more: usual.damage,
    };
    let severity = permille(policy, PolicyKey::SeverityLogSdPermille);
    carry_chance(&life.belief, severity, 1, &[pad], Precision::Fine)
}

fn pads_left(
    book: &Book,
    make: &Id,
    life: &MakeLife,
    usual: UsualJob,
    now: Moment,
) -> Vec<PadLeft> {
    let mut pads: Vec<PadLeft> = book
        .pieces_of(make)
        .filter_map(|piece| left_of(book, piece, life, usual, now))
        .collect();
    pads.sort_by(|a, b| b.damage.total_cmp(&a.damage).then(a.tag.cmp(&b.tag)));
    pads
}

/// Damage of pads that left for another reason than wear.
fn cut_offs(book: &Book, make: &Id) -> Vec<f64> {
    let mut damages: Vec<f64> = book
        .pieces()
        .filter(|piece| piece.make == *make)
        .filter(
            |piece| matches!(piece.readiness, Readiness::Binned(reason) if !reason.is_failure()),
        )
        .filter_map(|piece| damage_of(book, piece))
        .collect();
    damages.sort_by(f64::total_cmp);
    damages
}

fn range(lasts: impl Fn(f64) -> f64) -> LifeRange {
    LifeRange {
        low: lasts(0.9),
        typical: lasts(0.5),
        high: lasts(0.1),
    }
}

impl LifeRange {
    /// A range of damage in usual jobs.
    fn in_jobs(self, usual: UsualJob) -> Self {
        Self {
            low: self.low / usual.damage,
            typical: self.typical / usual.damage,
            high: self.high / usual.damage,
        }
    }
}

/// Points of the believed curve, as far as there is something to see and a pad came.
fn believed(life: &MakeLife, new: LifeRange) -> Vec<(f64, f64)> {
    let oldest = life.lives.iter().map(|one| one.age).fold(0.0, f64::max);
    let end = (new.high * 1.2)
        .min(oldest.max(SHOWN_LEAST) * 1.5)
        .max(oldest.max(SHOWN_LEAST));
    (0..=BELIEF_POINTS)
        .map(|at| {
            let damage = end * exact_f64(at) / exact_f64(BELIEF_POINTS);
            (damage, life.belief.survival_new(damage))
        })
        .collect()
}
