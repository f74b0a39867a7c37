//! Which pads a step gets, and why the others of its make do not.
//!
//! Serves the check and the log. It must never offer a pad that carried a coarser liquid for a
//! finer step, nor the same pad twice in one job.

use std::collections::BTreeSet;
use std::sync::Arc;

use fettlebook_quantity::{Seconds, exact_f64};

use super::{Scene, band_of, damage_of, wash_by};
use crate::Moment;
use crate::ids::Tag;
use crate::job::Step;
use crate::kit::{Piece, Readiness};
use crate::make::{Grade, PadFigures};
use crate::plan::StepPlan;
use crate::policy::PolicyKey;
use crate::wear::{Band, damage};

/// Why a pad of the right make cannot be picked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum PadBar {
    /// Used and not washed; dry in time when washed by this moment.
    Soiled(Option<Moment>),
    /// Not dry before this moment.
    Drying(Moment),
    /// Set aside.
    Aside,
    /// Carried a coarser liquid.
    Coarser,
    /// Damage at or over the limit.
    Spent,
    /// Picked for another step of this job.
    Taken,
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
}

/// What the kit offers for the pads of a step.
#[derive(Debug, Clone, Default)]
pub struct PadOffer {
    /// Eligible pads, in the order they should be taken.
    pub choices: Vec<PadChoice>,
    /// Pads of the make that cannot be taken, and why.
    pub barred: Vec<(Tag, PadBar)>,
}

/// Looks at every pad of the step's make: eligible ones in picking order, the others with why not.
///
/// Finishing gets the least worn. Cutting uses up worn pads first, but takes those that this job
/// would carry past the limit only after all others.
pub fn offer_pads(
    scene: &Scene<'_>,
    step: &Step,
    plan: &StepPlan,
    figures: &PadFigures,
    taken: &BTreeSet<Tag>,
) -> PadOffer {
    let mut offer = PadOffer::default();
    for piece in scene.book.pieces_of(&step.pad_make) {
        let worn = damage_of(scene.book, piece).unwrap_or(0.0);
        match pad_bar(scene, piece, plan.whole.liquid, worn, figures, taken) {
            Some(bar) => offer.barred.push((piece.tag, bar)),
            None => offer.choices.push(PadChoice {
                piece: Arc::clone(piece),
                damage: worn,
                here: piece.place == *scene.place,
            }),
        }
    }
    let each = added_damage(plan, figures);
    let limit = exact_f64(scene.policy().value(PolicyKey::SpentPermille)) / 1000.0;
    let cutting = figures.grade == Grade::Coarse;
    offer.choices.sort_by(|a, b| {
        let over = |choice: &PadChoice| cutting && choice.damage + each >= limit;
        let wear = if cutting {
            b.damage.total_cmp(&a.damage)
        } else {
            a.damage.total_cmp(&b.damage)
        };
        over(a)
            .cmp(&over(b))
            .then(b.here.cmp(&a.here))
            .then(wear)
            .then(a.piece.tag.cmp(&b.piece.tag))
    });
    offer
}

/// Damage one working pad takes in a step, an even share and the wash after it.
pub fn added_damage(plan: &StepPlan, figures: &PadFigures) -> f64 {
    let share = plan
        .section_count
        .saturating_add(plan.pad_count.saturating_sub(1))
        .checked_div(plan.pad_count.max(1))
        .unwrap_or(plan.section_count);
    damage(
        plan.share(share).work(),
        figures.rated_work_sections.unwrap_or(0),
        1,
        figures.rated_wash_count.unwrap_or(0),
    )
}

fn pad_bar(
    scene: &Scene<'_>,
    piece: &Piece,
    liquid: Grade,
    worn: f64,
    figures: &PadFigures,
    taken: &BTreeSet<Tag>,
) -> Option<PadBar> {
    if taken.contains(&piece.tag) {
        return Some(PadBar::Taken);
    }
    if piece
        .pad()
        .and_then(|pad| pad.coarsest_liquid)
        .is_some_and(|carried| carried < liquid)
    {
        return Some(PadBar::Coarser);
    }
    if band_of(scene.policy(), worn) == Band::Spent {
        return Some(PadBar::Spent);
    }
    match piece.readiness.at(scene.starts_at) {
        Readiness::Ready => None,
        Readiness::Soiled => Some(PadBar::Soiled(wash_by(
            scene,
            figures.dry_time_s.unwrap_or(Seconds::ZERO),
        ))),
        Readiness::Drying(_) if scene.looking_back && piece.since >= scene.starts_at => None,
        Readiness::Drying(until) => Some(PadBar::Drying(until)),
        Readiness::Aside(_) | Readiness::Binned(_) => Some(PadBar::Aside),
    }
}
