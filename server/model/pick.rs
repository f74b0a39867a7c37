//! The pick: which pieces go into a job.
//!
//! Serves the check, which shows it, and the log, which takes it as what was used, so the two
//! always agree. It must never offer a pad that carried a coarser liquid for a finer step, nor the
//! same pad twice in one job.

use std::collections::BTreeSet;
use std::sync::Arc;

use fettlebook_quantity::{Mass, Seconds, Volume};
use jiff::civil::Date;

use crate::ids::{Id, Place, Tag};
use crate::job::{Job, Step};
use crate::kit::{BottleState, Piece, Readiness};
use crate::make::{Figures, Grade, Make, PadFigures};
use crate::plan::StepPlan;
use crate::plate::{PlateFit, SpeedFit, speed_verdict};
use crate::policy::{Policy, PolicyKey};
use crate::towel::TowelGrade;
use crate::wear::{Band, band, damage};
use crate::{Book, Moment};

/// The circumstances a pick is made for.
#[derive(Debug, Clone, Copy)]
pub struct Scene<'a> {
    /// The book.
    pub book: &'a Book,
    /// Where the work is done.
    pub place: &'a Place,
    /// When it starts: kit must be dry by then.
    pub starts_at: Moment,
    /// The local day of the start, for expiry dates.
    pub day: Date,
    /// Offset of local time from UTC at the start, s.
    pub utc_offset_s: i32,
    /// Looking back: the job is done, and kit washed since its start was clean before it.
    pub looking_back: bool,
    /// Now: what can still be washed, moved or bought before the start.
    pub now: Moment,
}

impl<'a> Scene<'a> {
    /// The scene of a job seen at a moment.
    pub fn of(book: &'a Book, job: &'a Job, now: Moment) -> Self {
        Self {
            book,
            place: &job.place,
            starts_at: job.starts_at,
            day: job.local_day(),
            utc_offset_s: job.utc_offset_s,
            looking_back: false,
            now,
        }
    }

    /// The scene of a job that is done, as it was at its start.
    pub fn looking_back(book: &'a Book, job: &'a Job) -> Self {
        Self {
            looking_back: true,
            ..Self::of(book, job, job.starts_at)
        }
    }

    /// The policy.
    pub fn policy(&self) -> &'a Policy {
        self.book.policy()
    }
}

/// Cumulative damage of a piece that wears; `None` for one that does not.
pub fn damage_of(book: &Book, piece: &Piece) -> Option<f64> {
    let make = book.make(&piece.make)?;
    match (&piece.state, &make.figures) {
        (crate::kit::State::Pad(pad), Figures::Pad(figures)) => Some(damage(
            pad.work,
            figures.rated_work_sections.unwrap_or(0),
            pad.wash_count,
            figures.rated_wash_count.unwrap_or(0),
        )),
        (crate::kit::State::Plate(plate), Figures::Plate(figures)) => Some(plate_damage(
            plate.run_time_ms,
            figures.rated_run_h.unwrap_or(0),
            plate.change_count,
            figures.rated_change_count.unwrap_or(0),
        )),
        _ => None,
    }
}

/// Hours over rated hours plus changes over rated changes (Palmgren–Miner; a rating of 0 is left out).
fn plate_damage(run_ms: i64, rated_h: i64, changes: i64, rated_changes: i64) -> f64 {
    use fettlebook_quantity::exact_f64;
    let hours = exact_f64(run_ms) / 3_600_000.0;
    let term = |done: f64, rated: i64| {
        if rated > 0 {
            done / exact_f64(rated)
        } else {
            0.0
        }
    };
    term(hours, rated_h) + term(exact_f64(changes), rated_changes)
}

/// Wear band by the policy's limits.
pub fn band_of(policy: &Policy, damage: f64) -> Band {
    use fettlebook_quantity::exact_f64;
    let tired = exact_f64(policy.value(PolicyKey::TiredPermille)) / 1000.0;
    let spent = exact_f64(policy.value(PolicyKey::SpentPermille)) / 1000.0;
    band(damage, tired, spent)
}

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
    let limit =
        fettlebook_quantity::exact_f64(scene.policy().value(PolicyKey::SpentPermille)) / 1000.0;
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

/// The last moment to wash so that it is dry by the start; `None` when that has passed.
pub fn wash_by(scene: &Scene<'_>, dry: Seconds) -> Option<Moment> {
    let by = scene
        .starts_at
        .checked_sub(jiff::SignedDuration::from_secs(dry.s()))
        .ok()?;
    (by >= scene.now).then_some(by)
}

/// Bottles of a make that may be used on the day of the job, first expired first, opened before
/// sealed, emptier before fuller; and the expired ones.
pub fn offer_bottles<'a>(
    scene: &Scene<'a>,
    make: &Id,
) -> (Vec<(Arc<Piece>, &'a BottleState)>, Vec<Tag>) {
    let mut usable = Vec::new();
    let mut expired = Vec::new();
    for piece in scene
        .book
        .pieces()
        .filter(|piece| piece.make == *make && !piece.is_binned())
    {
        let Some(bottle) = piece.bottle() else {
            continue;
        };
        if bottle.expiry.is_some_and(|last| last < scene.day) {
            expired.push(piece.tag);
        } else if piece.readiness == Readiness::Ready {
            usable.push((Arc::clone(piece), bottle));
        }
    }
    usable.sort_by_key(|(piece, bottle)| {
        (
            bottle.expiry.unwrap_or(Date::MAX),
            bottle.opened_at.is_none(),
            piece.place != *scene.place,
            bottle.left_ul,
            piece.tag,
        )
    });
    (usable, expired)
}

/// Takes a volume from bottles in order. What they do not hold stays open: the second part.
pub fn take_volume(
    bottles: &[(Arc<Piece>, &BottleState)],
    need: Volume,
) -> (Vec<(Tag, Volume)>, Volume) {
    let mut open = need;
    let mut taken = Vec::new();
    for (piece, bottle) in bottles {
        if open <= Volume::ZERO {
            break;
        }
        let here = bottle.left_ul.min(open);
        if here > Volume::ZERO {
            taken.push((piece.tag, here));
            open = open.saturating_sub(here);
        }
    }
    (taken, open)
}

/// A plate that could carry a step's pad, and how it fits.
#[derive(Debug, Clone)]
pub struct PlateChoice {
    /// The plate.
    pub piece: Arc<Piece>,
    /// How the pad's width fits.
    pub fit: PlateFit,
    /// How its rating stands to the machine.
    pub speed: SpeedFit,
    /// Damage so far.
    pub damage: f64,
}

/// Plates with the machine's thread that the pad is wider than by the right measure, best first:
/// rated high enough, then unknown, then refused; ideal fit; at the place; least worn.
pub fn offer_plates(
    scene: &Scene<'_>,
    machine: &crate::make::MachineFigures,
    face: fettlebook_quantity::Length,
) -> Vec<PlateChoice> {
    let mut plates: Vec<PlateChoice> = scene
        .book
        .pieces()
        .filter(|piece| !piece.is_binned() && piece.readiness == Readiness::Ready)
        .filter_map(|piece| {
            let Figures::Plate(figures) = &scene.book.make(&piece.make)?.figures else {
                return None;
            };
            let how = scene
                .policy()
                .margin_limits()
                .fit(face, figures.diameter_mm);
            let fits =
                matches!(how, PlateFit::Ideal | PlateFit::Fits) && figures.thread == machine.thread;
            fits.then(|| PlateChoice {
                piece: Arc::clone(piece),
                fit: how,
                speed: speed_verdict(figures.rated_speed_per_min, machine.max_speed_per_min),
                damage: damage_of(scene.book, piece).unwrap_or(0.0),
            })
        })
        .collect();
    let rank = |speed: &SpeedFit| match speed {
        SpeedFit::Within => 0,
        SpeedFit::Unknown => 1,
        SpeedFit::Refused { .. } => 2,
    };
    plates.sort_by(|a, b| {
        rank(&a.speed)
            .cmp(&rank(&b.speed))
            .then((a.fit != PlateFit::Ideal).cmp(&(b.fit != PlateFit::Ideal)))
            .then((a.piece.place != *scene.place).cmp(&(b.piece.place != *scene.place)))
            .then(a.damage.total_cmp(&b.damage))
            .then(a.piece.tag.cmp(&b.piece.tag))
    });
    plates
}

/// Machines of a make that are fit to run, those at the place first.
pub fn offer_machines(scene: &Scene<'_>, make: &Id) -> Vec<Arc<Piece>> {
    let mut machines: Vec<Arc<Piece>> = scene
        .book
        .pieces_of(make)
        .filter(|piece| piece.readiness == Readiness::Ready)
        .cloned()
        .collect();
    machines.sort_by_key(|piece| (piece.place != *scene.place, piece.tag));
    machines
}

/// Bundles of a make that may take residue, with their clean towels at the start: at the place
/// first, most washed first so that the newest keep their nap.
pub fn offer_bundles(scene: &Scene<'_>, make: &Id) -> Vec<(Arc<Piece>, i64)> {
    let mut bundles: Vec<(Arc<Piece>, i64)> = scene
        .book
        .pieces_of(make)
        .filter_map(|piece| {
            let bundle = piece.bundle()?;
            let fit = bundle.grade == TowelGrade::Residue && !is_demotable(scene.book, piece);
            fit.then(|| {
                (
                    Arc::clone(piece),
                    bundle.clean_at(piece.readiness, scene.starts_at),
                )
            })
        })
        .collect();
    bundles.sort_by_key(|(piece, _)| {
        let washes = piece.bundle().map_or(0, |bundle| bundle.wash_count);
        (
            piece.place != *scene.place,
            std::cmp::Reverse(washes),
            piece.tag,
        )
    });
    bundles
}

/// Whether a bundle has had so many washes that it should go down a grade.
pub fn is_demotable(book: &Book, piece: &Piece) -> bool {
    let limit = match book.make(&piece.make).map(|make| &make.figures) {
        Some(Figures::Towel(towel)) => towel.demote_wash_count,
        _ => None,
    };
    let washes = piece.bundle().map_or(0, |bundle| bundle.wash_count);
    limit.is_some_and(|limit| washes >= limit)
}

/// Sundries of a make with something left, at the place first, least left first.
pub fn offer_sundries(scene: &Scene<'_>, make: &Id) -> Vec<(Arc<Piece>, i64)> {
    let mut held: Vec<(Arc<Piece>, i64)> = scene
        .book
        .pieces_of(make)
        .filter(|piece| piece.readiness == Readiness::Ready)
        .filter_map(|piece| piece.sundry_left().map(|left| (Arc::clone(piece), left)))
        .collect();
    held.sort_by_key(|(piece, left)| (piece.place != *scene.place, *left, piece.tag));
    held
}

/// Takes a count from pieces in order. What they do not hold stays open: the second part.
pub fn take_count(offers: &[(Arc<Piece>, i64)], need: i64) -> (Vec<(Tag, i64)>, i64) {
    let mut open = need;
    let mut taken = Vec::new();
    for (piece, held) in offers {
        let here = (*held).min(open);
        if here > 0 {
            taken.push((piece.tag, here));
            open = open.saturating_sub(here);
        }
    }
    (taken, open)
}

/// The tare and density a weigh-in of this bottle goes by; `None` when the tare is not known.
pub fn scale_figures(piece: &Piece, make: &Make) -> Option<(Mass, i64)> {
    let Figures::Liquid(liquid) = &make.figures else {
        return None;
    };
    let tare = piece.bottle()?.tare_mg.or(liquid.tare_mg)?;
    Some((tare, liquid.density_mg_per_ml?))
}
