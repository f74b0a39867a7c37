//! Which pads a step gets, and why the others of its make do not.
//!
//! Serves the check and the log, which take the same pads. It must never offer a pad that carried a
//! coarser liquid for a finer step, nor the same pad to two steps, nor to two jobs of a day.

use std::collections::BTreeSet;
use std::sync::Arc;

use fettlebook_quantity::Seconds;

use super::step_pads::{PadsAhead, StepPads};
use super::{Scene, wash_by};
use crate::Moment;
use crate::book::damage::damage_of;
use crate::ground::ids::Tag;
use crate::ready::lives::MakeLife;
use crate::ready::plan::StepPlan;
use crate::trade::job::Step;
use crate::trade::kit::{Piece, Readiness};
use crate::trade::make::{Grade, PadFigures};
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
    /// Went along to another job of that day as a spare.
    TakenAlong,
}

/// A pad that can be picked.
#[derive(Debug, Clone)]
pub struct PadChoice {
    /// The pad.
    pub piece: Arc<Piece>,
    /// Damage before the job.
    pub damage: f64,
    /// At the job's place already.
    pub here: bool,
    /// Was washed after a coarser liquid, of which leftovers may be in it.
    pub washed_of_coarser: bool,
}

/// What the kit offers for the pads of a step.
#[derive(Debug, Clone, Default)]
pub struct PadOffer {
    /// Pads that should work, as many as the step needs where there are so many.
    pub working: Vec<PadChoice>,
    /// Pads that should go along as spares.
    pub spares: Vec<PadChoice>,
    /// How many pads could be picked at all.
    pub eligible_count: usize,
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
    /// New pads that would bring it to the target in the place of the most worn; `None` when it is
    /// there already, or none would.
    pub fresh_count: Option<usize>,
    /// The pads as they go to the job.
    pub ahead: PadsAhead,
}

impl PadOffer {
    /// The pads that go along, those that work first.
    pub fn picked(&self) -> impl Iterator<Item = &PadChoice> {
        self.working.iter().chain(&self.spares)
    }
}

/// Looks at every pad of the step's make and picks those that should go: finishing gets the least
/// worn, cutting uses up worn ones first as long as the chance that enough of them last is at least
/// `target`. Others are named with why they cannot go.
pub fn offer_pads(
    scene: &Scene<'_>,
    step: &Step,
    plan: &StepPlan,
    figures: &PadFigures,
    taken: &BTreeSet<Tag>,
    target: f64,
) -> PadOffer {
    let mut offer = PadOffer::default();
    let mut eligible = Vec::new();
    for piece in scene.book.pieces_of(&step.pad_make) {
        match pad_bar(scene, piece, plan.whole.liquid, figures, taken) {
            Some(bar) => offer.barred.push((piece.tag, bar)),
            None => eligible.push(choice(scene, piece, plan.whole.liquid)),
        }
    }
    leave_out_second_choice(scene, plan, &mut eligible);
    offer.eligible_count = eligible.len();
    let life = MakeLife::of(scene.book, &step.pad_make, figures).ok();
    let step_pads = StepPads::of(scene.policy(), life.as_ref(), plan, figures, target);
    let picked = step_pads.pick(eligible);
    // Looking back, the job was done: its chance is asked by nobody, and costs the most.
    let asked = life.as_ref().filter(|_| !scene.looking_back);
    offer.chance = asked.and_then(|life| {
        Some(PadChance {
            chance: step_pads.chance(&picked)?,
            rests_on: life.rests_on(),
            fresh_count: step_pads.fresh_needed(&picked),
            ahead: step_pads.ahead_of(&picked)?,
        })
    });
    offer.working = picked;
    let working = usize::try_from(plan.pad_count).unwrap_or(usize::MAX);
    offer.spares = offer.working.split_off(working.min(offer.working.len()));
    offer
}

/// A pad that can be picked for a liquid of this grade.
fn choice(scene: &Scene<'_>, piece: &Arc<Piece>, liquid: Grade) -> PadChoice {
    PadChoice {
        piece: Arc::clone(piece),
        damage: damage_of(scene.book, piece).unwrap_or_default(),
        here: piece.place == *scene.place,
        washed_of_coarser: piece
            .pad()
            .is_some_and(|pad| pad.has_carried_coarser_than(liquid)),
    }
}

/// Why a pad is only taken to make up the number, least first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Choice {
    /// It is not.
    First,
    /// It was washed after a coarser liquid.
    Washed,
    /// Looking back, it went along to another job that day as a spare, and was kept for it.
    SpareOfTheDay,
    /// Looking back, it came into the kit after the start.
    CameLater,
}

impl Choice {
    fn of(scene: &Scene<'_>, pad: &PadChoice) -> Self {
        if scene.looking_back && pad.piece.received_at > scene.starts_at {
            Self::CameLater
        } else if scene.looking_back && is_spare_of_the_day(scene, &pad.piece) {
            Self::SpareOfTheDay
        } else if pad.washed_of_coarser {
            Self::Washed
        } else {
            Self::First
        }
    }
}

/// Of pads that are no first choice only as many are left in as it takes to make up the number. Looking
/// back that holds for all that the check could not pick: the work was done, and a book is often begun
/// after it.
fn leave_out_second_choice(scene: &Scene<'_>, plan: &StepPlan, eligible: &mut Vec<PadChoice>) {
    eligible.sort_by_cached_key(|pad| (Choice::of(scene, pad), pad.piece.tag));
    let first_count = eligible.partition_point(|pad| Choice::of(scene, pad) == Choice::First);
    let need = usize::try_from(plan.pad_count).unwrap_or(usize::MAX);
    eligible.truncate(first_count.max(need));
}

/// Whether a pad went along to another job of the scene's day as a spare.
fn is_spare_of_the_day(scene: &Scene<'_>, piece: &Piece) -> bool {
    piece
        .pad()
        .is_some_and(|pad| pad.taken_along_on == Some(scene.day))
}

/// Damage one working pad takes in a step, an even share of it, without the wash after it.
pub(super) fn work_damage(plan: &StepPlan, figures: &PadFigures) -> f64 {
    share_damage(plan, figures, 0)
}

/// Damage one working pad takes in a step, an even share and the wash after it.
pub(crate) fn added_damage(plan: &StepPlan, figures: &PadFigures) -> f64 {
    share_damage(plan, figures, 1)
}

fn share_damage(plan: &StepPlan, figures: &PadFigures, washes: i64) -> f64 {
    let share = plan
        .section_count
        .saturating_add(plan.pad_count.saturating_sub(1))
        .checked_div(plan.pad_count.max(1))
        .unwrap_or(plan.section_count);
    damage(
        plan.share(share).work(),
        figures.rated_work_sections.unwrap_or(0),
        washes,
        figures.rated_wash_count.unwrap_or(0),
    )
}

fn pad_bar(
    scene: &Scene<'_>,
    piece: &Piece,
    liquid: Grade,
    figures: &PadFigures,
    taken: &BTreeSet<Tag>,
) -> Option<PadBar> {
    if taken.contains(&piece.tag) {
        return Some(PadBar::Taken);
    }
    let pad = piece.pad()?;
    if !scene.looking_back && is_spare_of_the_day(scene, piece) {
        return Some(PadBar::TakenAlong);
    }
    let wash_by = || wash_by(scene, figures.dry_time_s.unwrap_or(Seconds::ZERO));
    let unwashed = pad.unwashed_liquid();
    match piece.readiness.at(scene.starts_at) {
        Readiness::Ready if unwashed.is_some_and(|carried| carried < liquid) => {
            Some(PadBar::Coarser(wash_by()))
        }
        Readiness::Ready => None,
        Readiness::Soiled => Some(PadBar::Soiled(wash_by())),
        Readiness::Drying(_) if scene.looking_back && piece.since >= scene.starts_at => None,
        Readiness::Drying(until) => Some(PadBar::Drying(until)),
        Readiness::Aside(_) | Readiness::Binned(_) => Some(PadBar::Aside),
    }
}
