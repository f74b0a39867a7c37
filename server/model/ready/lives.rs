//! What the book knows of the lives of a make's pads, and what is believed of the next.
//!
//! Serves the check, the pick and the wear report. Every pad of the make speaks: those that wore out
//! by when they did, all others by having lasted so long, the older ones less, for what a supplier
//! sends changes. It must never count a pad's survival twice.

use std::sync::Arc;

use fettlebook_quantity::exact_f64;

use crate::book::damage::pad_damage;
use crate::ground::ids::{Id, Tag};
use crate::maths::life::{
    Belief, Life, LifeError, Limits, Lives, Prior, WeibullFit, fit_weibull, newer_last_shorter,
};
use crate::trade::kit::{Piece, Readiness};
use crate::trade::make::{Figures, Make, PadFigures, PadMaterial};
use crate::trade::policy::{Policy, PolicyKey, permille};
use crate::trade::wear::{BinReason, Work, miner};
use crate::{Book, Moment};

/// Shapes that are believed of a fit: beyond them a handful of lives is chance.
const SHAPE_LEAST: f64 = 0.5;
const SHAPE_MOST: f64 = 12.0;

/// How many pads of a make ended, and how.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct LifeCounts {
    /// Wore out, those retired as a precaution among them.
    pub failure_count: i64,
    /// Retired as a precaution.
    pub precaution_count: i64,
    /// Left for another reason: lost, sold, spoilt.
    pub cut_off_count: i64,
    /// In service.
    pub in_service_count: i64,
}

/// Where the shape of the lives comes from.
#[derive(Debug, Clone, PartialEq)]
pub enum ShapeBasis {
    /// The policy: too few have worn out to tell.
    Policy,
    /// Fitted to those that wore out here.
    Fitted(WeibullFit),
    /// The policy, since no shape can be fitted to those that wore out here.
    Refused(LifeError),
}

/// What is known and believed of the lives of a make's pads, in damage.
#[derive(Debug, Clone, PartialEq)]
pub struct MakeLife {
    /// The lives, one a pad.
    pub lives: Lives,
    /// How they ended.
    pub counts: LifeCounts,
    /// What is believed.
    pub belief: Belief,
    /// Where the shape comes from.
    pub shape_basis: ShapeBasis,
    /// Whether the user's own lives stand in the place of the rating.
    pub is_prior_own: bool,
    /// Why the user's own lives are left out, where no belief at the shape in use has them.
    pub own_refused: Option<LifeError>,
}

impl MakeLife {
    /// What the book knows of a pad make.
    ///
    /// # Errors
    /// When figures of the make make no sense as lives, which setting it up refuses.
    pub fn of(book: &Book, id: &Id, figures: &PadFigures) -> Result<Self, LifeError> {
        Self::of_pads(book.policy(), book.all_of(id), figures)
    }

    /// What all pads of a make say, those that ended too.
    ///
    /// # Errors
    /// As [`MakeLife::of`].
    pub(crate) fn of_pads<'a>(
        policy: &Policy,
        pads: impl Iterator<Item = &'a Arc<Piece>>,
        figures: &PadFigures,
    ) -> Result<Self, LifeError> {
        let (mut counts, mut lives) = (LifeCounts::default(), Vec::new());
        for piece in pads {
            counts.add(piece.readiness);
            lives.extend(life_of(piece, figures).map(|life| (life, piece.put_to_work_at())));
        }
        let lives = Lives::new(faded(lives, policy.value(PolicyKey::LivesHalvePads)))?;
        let shape_basis = shape_basis(policy, &lives);
        let shape = match &shape_basis {
            ShapeBasis::Fitted(fit) => believed_shape(unbiased(fit)),
            ShapeBasis::Policy | ShapeBasis::Refused(_) => shape_by_policy(policy, figures),
        };
        let (own, own_refused) = match own_prior(figures, shape) {
            Some(Err(why)) => (None, Some(why)),
            given => (given.and_then(Result::ok), None),
        };
        let belief = Belief::from_prior(shape, own.unwrap_or_else(Prior::rating), &lives)?;
        Ok(Self {
            lives,
            counts,
            belief,
            shape_basis,
            is_prior_own: own.is_some(),
            own_refused,
        })
    }

    /// 95 % limits of the shape in use; `None` where it was not fitted, and where lives have faded: what
    /// is sure then is told by the range of a pad's life alone.
    pub fn shape_limits(&self) -> Option<Limits> {
        match &self.shape_basis {
            ShapeBasis::Fitted(fit) if !self.lives.is_faded() => {
                let limits = fit.limits_about(unbiased(fit));
                Some(Limits {
                    lower: believed_shape(limits.lower),
                    upper: believed_shape(limits.upper),
                })
            }
            ShapeBasis::Fitted(_) | ShapeBasis::Policy | ShapeBasis::Refused(_) => None,
        }
    }

    /// What it rests on, a sentence.
    pub fn rests_on(&self) -> String {
        let told = match (self.counts.failure_count, self.is_prior_own) {
            (0, false) => return "Rests on the rating only.".to_owned(),
            (0, true) => return "Rests on the lives you gave only.".to_owned(),
            (1, _) => "1 retirement".to_owned(),
            (count, _) => format!("{count} retirements"),
        };
        let before = if self.is_prior_own {
            "the lives you gave"
        } else {
            "the rating"
        };
        let fading = if self.lives.is_faded() {
            ", older ones counting less,"
        } else {
            ""
        };
        format!("Rests on {told} here{fading} and {before}.")
    }
}

impl LifeCounts {
    fn add(&mut self, readiness: Readiness) {
        let count = match readiness {
            Readiness::Binned(reason) if reason.is_failure() => {
                if reason == BinReason::Precaution {
                    self.precaution_count = self.precaution_count.saturating_add(1);
                }
                &mut self.failure_count
            }
            Readiness::Binned(_) => &mut self.cut_off_count,
            Readiness::Ready | Readiness::Soiled | Readiness::Drying(_) | Readiness::Aside(_) => {
                &mut self.in_service_count
            }
        };
        *count = count.saturating_add(1);
    }
}

/// The life of a pad so far, by the figures of its make; `None` for what is no pad.
fn life_of(piece: &Piece, figures: &PadFigures) -> Option<Life> {
    let age = pad_damage(piece.pad()?, figures);
    let failed = matches!(piece.readiness, Readiness::Binned(reason) if reason.is_failure());
    Some(Life::whole(age, failed))
}

/// Lives with their weights: each counts half as much for every so many pads of the make that were first
/// put to work after it, so that what a supplier sends now is believed more than what came years ago.
///
/// Formula: w = 0.5^(n / h), n the pads put to work later, h pads that halve it. Pads that never worked
/// fade nothing and do not fade.
fn faded(lives: Vec<(Life, Option<Moment>)>, halving_pads: i64) -> Vec<Life> {
    let mut began: Vec<Moment> = lives.iter().filter_map(|(_, began)| *began).collect();
    began.sort();
    let halving_pads = exact_f64(halving_pads.max(1));
    let weight = |moment: Moment| {
        let until = began.partition_point(|began| *began <= moment);
        let later = i64::try_from(began.len().saturating_sub(until)).unwrap_or(i64::MAX);
        let weight = 0.5_f64.powf(exact_f64(later) / halving_pads);
        weight.max(f64::MIN_POSITIVE)
    };
    let lives = lives.into_iter();
    lives
        .map(|(life, began)| Life {
            weight: began.map_or(1.0, weight),
            ..life
        })
        .collect()
}

/// Whether pads of the make that were put to work lately last shorter than those before them.
pub(crate) fn newer_pads_last_shorter(book: &Book, id: &Id, figures: &PadFigures) -> bool {
    let mut lives: Vec<(Moment, Tag, Life)> = book
        .all_of(id)
        .filter_map(|piece| Some((piece.put_to_work_at()?, piece.tag, life_of(piece, figures)?)))
        .collect();
    lives.sort_by_key(|(began, tag, _)| (*began, *tag));
    let in_order: Vec<Life> = lives.into_iter().map(|(_, _, life)| life).collect();
    newer_last_shorter(&in_order)
}

/// Whether so many have worn out, each counted by its weight, that the shape is fitted to them.
fn shape_basis(policy: &Policy, lives: &Lives) -> ShapeBasis {
    if lives.failure_weight() < exact_f64(policy.value(PolicyKey::ShapeFromFailures)) {
        return ShapeBasis::Policy;
    }
    match fit_weibull(lives) {
        Ok(fit) => ShapeBasis::Fitted(fit),
        Err(why) => ShapeBasis::Refused(why),
    }
}

/// The fitted shape without the upward bias that maximum likelihood has with few failures.
///
/// Formula: β (r − 2) / (r − 0.68) for r failures, counted by their weight: at ten it takes 14 % off. Source: R. Ross, IEEE
/// Trans. Dielectrics and Electrical Insulation 3 (1996), from memory; that chances come true with it
/// and not without is what the simulated year shows.
fn unbiased(fit: &WeibullFit) -> f64 {
    fit.shape * (fit.failure_weight - 2.0) / (fit.failure_weight - 0.68)
}

const fn believed_shape(shape: f64) -> f64 {
    shape.clamp(SHAPE_LEAST, SHAPE_MOST)
}

fn shape_by_policy(policy: &Policy, figures: &PadFigures) -> f64 {
    let key = match figures.material {
        PadMaterial::ThinFoam | PadMaterial::ThickFoam => PolicyKey::ShapeFoamPermille,
        PadMaterial::Microfibre | PadMaterial::Applicator => PolicyKey::ShapeMicrofibrePermille,
        PadMaterial::Wool => PolicyKey::ShapeWoolPermille,
    };
    permille(policy, key)
}

/// What the user has seen pads last, as what is believed before any retirement.
fn own_prior(figures: &PadFigures, shape: f64) -> Option<Result<Prior, LifeError>> {
    let rated = exact_f64(figures.rated_work_sections.unwrap_or(1).max(1));
    let typical = exact_f64(figures.typical_life_sections?) / rated;
    let least = exact_f64(figures.least_life_sections?) / rated;
    Some(Prior::from_two_lives(shape, typical, least))
}

/// The damage of one usual job of a make's pads, and whether it comes from uses in this book.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UsualJob {
    /// Damage a pad takes: its work and the wash after it. Above zero.
    pub damage: f64,
    /// Uses it is the mean of; 0 when it is the make's load at the reference.
    pub use_count: i64,
}

/// One usual job of the make: the mean use of its pads in this book, else one load of reference
/// sections, and in both cases the wash after it; of an applicator the wash alone.
pub fn usual_job(book: &Book, make: &Make, figures: &PadFigures) -> UsualJob {
    let (mut work, mut use_count) = (Work::ZERO, 0_i64);
    for pad in book.all_of(&make.id).filter_map(|piece| piece.pad()) {
        work = work.saturating_add(pad.work);
        use_count = use_count.saturating_add(pad.use_count);
    }
    let worn = |sections: f64| {
        let rated = exact_f64(figures.rated_work_sections.unwrap_or(1).max(1));
        let washes = exact_f64(figures.rated_wash_count.unwrap_or(0));
        miner(&[(sections, rated), (1.0, washes)])
    };
    let damage = if figures.material == PadMaterial::Applicator {
        worn(0.0)
    } else if use_count > 0 && work > Work::ZERO {
        worn(work.reference_sections() / exact_f64(use_count))
    } else {
        use_count = 0;
        worn(exact_f64(figures.load_sections.unwrap_or(1).max(1)))
    };
    UsualJob { damage, use_count }
}

/// The pad figures of a make; `None` for another sort.
pub(crate) fn pad_figures(make: &Make) -> Option<&PadFigures> {
    match &make.figures {
        Figures::Pad(figures) => Some(figures),
        Figures::Plate(_)
        | Figures::Machine(_)
        | Figures::Towel(_)
        | Figures::Liquid(_)
        | Figures::Sundry(_)
        | Figures::Tool(_)
        | Figures::Battery(_) => None,
    }
}
