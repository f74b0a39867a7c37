//! Which pads a step gets, and why the others of its make do not.
//!
//! Serves the check and the log, which take the same pads. It must never offer a pad that carried a
//! coarser liquid for a finer step, nor the same pad to two steps, nor to two jobs of a day.

use std::collections::BTreeSet;
use std::sync::Arc;

use fettlebook_quantity::Seconds;

use super::asked::StepAsked;
use super::both_days::{Again, FirstDay, Worked};
use super::job_pads::JobPads;
use super::reach::Reach;
use super::step_pads::{PadsAhead, StepPads};
use super::{Scene, wash_by};
use crate::Moment;
use crate::book::damage::pad_damage;
use crate::ground::ids::Tag;
use crate::ready::lives::pad_figures;
use crate::ready::plan::StepPlan;
use crate::trade::kit::{Piece, Readiness};
use crate::trade::make::PadFigures;
use crate::trade::wear::damage;

/// Why a pad of the right make cannot be picked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum PadBar {
    /// Used and not washed; dry in time when washed by this moment.
    Soiled(Option<Moment>),
    /// Not dry before this moment.
    Drying(Moment),
    /// Set aside.
    Aside,
    /// Carried a coarser liquid and was not washed since; dry in time when washed by this moment.
    Coarser(Option<Moment>),
    /// Picked for another step of this job.
    Taken,
    /// Works on the first day of this job, and washed in its evening would not be dry before this moment.
    WorksBefore(Moment),
    /// Went along to another job of that day as a spare.
    TakenAlong,
    /// Taken for another booked job.
    TakenFor,
    /// Out of the kit, though it was taken for this job.
    Binned,
    /// Elsewhere, and cannot be there at the start.
    Away,
}

/// A pad that can be picked.
#[derive(Debug, Clone, Copy)]
pub struct PadChoice<'a> {
    /// The pad.
    pub piece: &'a Arc<Piece>,
    /// Damage before the job.
    pub damage: f64,
    /// At the job's place already.
    pub here: bool,
    /// Of another make than the step's, which does for it.
    pub of_other_make: bool,
    /// Was washed after a coarser liquid, of which leftovers may be in it.
    pub washed_of_coarser: bool,
    /// What it does on the first day of the job, which is in its damage.
    pub(crate) first_day: Option<Worked>,
}

/// What the kit offers for the pads of a step.
#[derive(Debug, Clone, Default)]
pub struct PadOffer<'a> {
    /// Pads that should work, as many as the step needs where there are so many.
    pub working: Vec<PadChoice<'a>>,
    /// Pads that should go along as spares.
    pub spares: Vec<PadChoice<'a>>,
    /// How many pads could be picked at all.
    pub eligible_count: usize,
    /// How many of those are at the place.
    pub here_count: usize,
    /// Probability that enough of those picked last; `None` where the make's lives say nothing, and
    /// looking back.
    pub chance: Option<PadChance>,
    /// Pads of the make that cannot be taken, and why.
    pub barred: Vec<(Tag, PadBar)>,
}

/// The carry chance of a step's pads.
#[derive(Debug, Clone, PartialEq)]
pub struct PadChance {
    /// Probability that at least as many as work last the step.
    pub chance: f64,
    /// What it rests on, a sentence.
    pub rests_on: String,
    /// The pads as they go to the job.
    pub ahead: PadsAhead,
}

impl<'a> PadOffer<'a> {
    /// The pads that go along, those that work first.
    pub fn picked(&self) -> impl Iterator<Item = &PadChoice<'a>> {
        self.working.iter().chain(&self.spares)
    }
}

/// Looks at the pads of the step's make and picks those that should go: finishing gets the least worn,
/// cutting uses up worn ones first as long as the chance that enough of them last is at least `target`.
/// Others are named with why they cannot go. Where the make is short, pads of other makes that do for it
/// make up the number; where there are fewer all the same, those there are do all of the work.
pub fn offer_pads<'a>(
    scene: &Scene<'a>,
    asked: &StepAsked<'_>,
    job_pads: &mut JobPads,
    target: f64,
) -> PadOffer<'a> {
    // A step of the second day has what is dry by then.
    let scene = &scene.of_step(asked.plan);
    job_pads.first_day.look_ahead(scene, asked);
    let mut offer = PadOffer::default();
    let mut eligible = Vec::new();
    let (taken, first_day) = (&job_pads.taken, &job_pads.first_day);
    let (step, figures) = (asked.step(), asked.figures);
    // What was taken is not picked anew.
    let fixed = scene.fixed_pads(&step.name);
    let of_make: Vec<&Arc<Piece>> = scene.book.all_of(&step.pad_make).collect();
    let pads: Vec<&Arc<Piece>> = if fixed.is_empty() {
        let in_kit = of_make.iter().filter(|piece| !piece.is_binned());
        in_kit.copied().collect()
    } else {
        fixed.iter().map(|(piece, _)| *piece).collect()
    };
    for piece in pads {
        match fit(scene, piece, asked, figures, (taken, first_day)) {
            Err(bar) => offer.barred.push((piece.tag, bar)),
            Ok(again) => {
                let figures = if piece.make == step.pad_make {
                    Some(figures)
                } else {
                    scene
                        .book
                        .make(&piece.make)
                        .and_then(|make| pad_figures(make))
                };
                eligible.push(choice(scene, piece, figures, asked).after(again, asked));
            }
        }
    }
    let is_first = |pad: &PadChoice<'_>| Choice::of(scene, pad) == Choice::First;
    let first_count = eligible.iter().filter(|pad| is_first(pad)).count();
    if fixed.is_empty() && first_count < asked.need() {
        for (make, figures) in asked.makes_that_do(scene.book) {
            let pieces = scene.book.pieces_of(make);
            let of_job = (taken, first_day);
            let fit = pieces.filter(|piece| fit(scene, piece, asked, figures, of_job).is_ok());
            eligible.extend(fit.map(|piece| choice(scene, piece, Some(figures), asked)));
        }
    }
    if fixed.is_empty() && first_count < eligible.len() {
        leave_out_second_choice(scene, asked, &mut eligible);
    }
    offer.eligible_count = eligible.len();
    offer.here_count = eligible.iter().filter(|pad| pad.here).count();
    let life = job_pads.life_of(scene.policy(), &step.pad_make, of_make.into_iter(), figures);
    let step_pads = StepPads::of(scene, life.as_deref(), asked, &eligible, target);
    let picked = if fixed.is_empty() {
        step_pads.pick(eligible)
    } else {
        eligible
    };
    // Looking back, the job was done: its chance is asked by nobody, and costs the most.
    if !scene.looking_back {
        offer.chance = step_pads.told(&picked, job_pads);
    }
    offer.working = picked;
    offer.spares = offer
        .working
        .split_off(asked.need().min(offer.working.len()));
    offer
}

/// A pad that can be picked for a step, with the figures of its make.
fn choice<'a>(
    scene: &Scene<'_>,
    piece: &'a Arc<Piece>,
    figures: Option<&PadFigures>,
    asked: &StepAsked<'_>,
) -> PadChoice<'a> {
    let (pad, liquid) = (piece.pad(), asked.plan.whole.liquid);
    let damage = pad
        .zip(figures)
        .map(|(pad, figures)| pad_damage(pad, figures));
    PadChoice {
        piece,
        damage: damage.unwrap_or_default(),
        here: piece.place == *scene.place,
        of_other_make: piece.make != asked.step().pad_make,
        washed_of_coarser: pad.is_some_and(|pad| pad.has_carried_coarser_than(liquid)),
        first_day: None,
    }
}

impl PadChoice<'_> {
    /// The pad after what it does on the first day, if it does anything.
    fn after(self, first_day: Option<Worked>, asked: &StepAsked<'_>) -> Self {
        let liquid = asked.plan.whole.liquid;
        Self {
            damage: self.damage + first_day.map_or(0.0, |worked| worked.damage()),
            washed_of_coarser: self.washed_of_coarser
                || first_day.is_some_and(|worked| worked.liquid < liquid),
            first_day,
            ..self
        }
    }
}

/// Why a pad is only taken to make up the number, least first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Choice {
    /// It is not.
    First,
    /// It works on the first day too, and is to be washed between; looking back, it was.
    BothDays,
    /// It is of another make.
    OtherMake,
    /// It was washed after a coarser liquid.
    Washed,
    /// Looking back, it was kept for another job: taken for it, or along that day as its spare.
    KeptForAnother,
    /// Looking back, it was with another van.
    OfAnother,
    /// Looking back, it came into the kit after the start.
    CameLater,
}

impl Choice {
    fn of(scene: &Scene<'_>, pad: &PadChoice<'_>) -> Self {
        if scene.looking_back && pad.piece.received_at > scene.starts_at {
            Self::CameLater
        } else if scene.looking_back && scene.reach(pad.piece) == Reach::OfAnother {
            Self::OfAnother
        } else if scene.looking_back && is_kept_for_another(scene, pad.piece) {
            Self::KeptForAnother
        } else if pad.washed_of_coarser {
            Self::Washed
        } else if pad.of_other_make {
            Self::OtherMake
        } else if pad.first_day.is_some() || pad.piece.readiness == Readiness::Soiled {
            Self::BothDays
        } else {
            Self::First
        }
    }
}

/// Of pads that are no first choice only as many are left in as it takes to make up the number. Looking
/// back that holds for all that the check could not pick: the work was done, and a book is often begun
/// after it.
fn leave_out_second_choice(
    scene: &Scene<'_>,
    asked: &StepAsked<'_>,
    eligible: &mut Vec<PadChoice<'_>>,
) {
    let mut ranked: Vec<(Choice, PadChoice<'_>)> = eligible
        .drain(..)
        .map(|pad| (Choice::of(scene, &pad), pad))
        .collect();
    ranked.sort_by(|(one, pad), (other, beside)| {
        one.cmp(other)
            .then(beside.here.cmp(&pad.here))
            .then(pad.damage.total_cmp(&beside.damage))
            .then(pad.piece.tag.cmp(&beside.piece.tag))
    });
    let first_count = ranked.partition_point(|(choice, _)| *choice == Choice::First);
    ranked.truncate(first_count.max(asked.need()));
    eligible.extend(ranked.into_iter().map(|(_, pad)| pad));
}

/// Whether a pad is kept for another job: taken for it, or along that day as its spare.
fn is_kept_for_another(scene: &Scene<'_>, piece: &Piece) -> bool {
    is_spare_of_the_day(scene, piece) || scene.leaves(piece.tag)
}

/// Whether a pad went along to another job of the scene's day as a spare.
fn is_spare_of_the_day(scene: &Scene<'_>, piece: &Piece) -> bool {
    piece
        .pad()
        .is_some_and(|pad| pad.taken_along_on == Some(scene.day))
}

/// Damage one of so many pads takes in a step when they share its work evenly, without the wash after
/// it.
pub(super) fn work_damage(plan: &StepPlan, figures: &PadFigures, pad_count: i64) -> f64 {
    share_damage(plan, figures, pad_count, 0)
}

/// Damage one of so many pads takes in a step when they share its work evenly, and in the wash after it.
pub(crate) fn added_damage(plan: &StepPlan, figures: &PadFigures, pad_count: i64) -> f64 {
    share_damage(plan, figures, pad_count, 1)
}

fn share_damage(plan: &StepPlan, figures: &PadFigures, pad_count: i64, washes: i64) -> f64 {
    let share = plan
        .section_count
        .saturating_add(pad_count.saturating_sub(1))
        .checked_div(pad_count.max(1))
        .unwrap_or(plan.section_count);
    damage(
        plan.share(share).work(),
        figures.rated_work_sections.unwrap_or(0),
        washes,
        figures.rated_wash_count.unwrap_or(0),
    )
}

/// Whether a pad may go, with what it does on the first day of the job, or why not.
fn fit(
    scene: &Scene<'_>,
    piece: &Piece,
    asked: &StepAsked<'_>,
    figures: &PadFigures,
    (taken, first_day): (&BTreeSet<Tag>, &FirstDay),
) -> Result<Option<Worked>, PadBar> {
    if !taken.contains(&piece.tag) {
        return pad_bar(scene, piece, asked, figures).map_or(Ok(None), Err);
    }
    let dry = figures.dry_time_s.unwrap_or(Seconds::ZERO);
    match first_day.again(scene, asked, piece, dry) {
        Again::Free(_) if !scene.looking_back && is_spare_of_the_day(scene, piece) => {
            Err(PadBar::TakenAlong)
        }
        Again::Free(worked) => Ok(Some(worked)),
        Again::NotDry(dry_at) => Err(PadBar::WorksBefore(dry_at)),
        Again::Never => Err(PadBar::Taken),
    }
}

/// Whether a pad that was washed since a day began was clean at its start: looking back, and between two days of
/// which the first is not logged.
fn was_clean(scene: &Scene<'_>, piece: &Piece) -> bool {
    let is_between = scene.job.second_day.is_some() && scene.now > scene.starts_at;
    (scene.looking_back || is_between) && piece.since >= scene.starts_at
}

/// Whether a pad was soiled on the first day of a job of which the second is looked back at.
fn worked_again(scene: &Scene<'_>, piece: &Piece) -> bool {
    let is_second = scene.looking_back && scene.job.has_first_day_behind();
    is_second && piece.since >= scene.job.starts_at
}

fn pad_bar(
    scene: &Scene<'_>,
    piece: &Piece,
    asked: &StepAsked<'_>,
    figures: &PadFigures,
) -> Option<PadBar> {
    let pad = piece.pad()?;
    if scene.is_away(piece) {
        return Some(PadBar::Away);
    }
    if !scene.looking_back && is_spare_of_the_day(scene, piece) {
        return Some(PadBar::TakenAlong);
    }
    if !scene.looking_back && scene.leaves(piece.tag) {
        return Some(PadBar::TakenFor);
    }
    let liquid = asked.plan.whole.liquid;
    let wash_by = || wash_by(scene, figures.dry_time_s.unwrap_or(Seconds::ZERO));
    let unwashed = pad.unwashed_liquid();
    match piece.readiness.at(scene.starts_at) {
        Readiness::Ready if unwashed.is_some_and(|carried| carried < liquid) => {
            Some(PadBar::Coarser(wash_by()))
        }
        Readiness::Ready => None,
        // Soiled on the first day of this job it worked on the second, and nobody told of the wash between.
        Readiness::Soiled if worked_again(scene, piece) => None,
        Readiness::Soiled => Some(PadBar::Soiled(wash_by())),
        Readiness::Drying(_) if was_clean(scene, piece) => None,
        Readiness::Drying(until) => Some(PadBar::Drying(until)),
        Readiness::Aside(_) => Some(PadBar::Aside),
        Readiness::Binned(_) => Some(PadBar::Binned),
    }
}
