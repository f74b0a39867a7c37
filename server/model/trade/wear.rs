//! Wear on one clock: the work a use puts on a pad, and the damage it adds up to.
//!
//! It serves the kit's life, the check and the cost. Work is counted exactly in millionths of a
//! reference section; damage is an estimate and is reported above one, never clipped.

use fettlebook_quantity::{Length, exact_f64};
use serde::{Deserialize, Serialize};

use crate::ground::exact::{half_up, product};
use crate::ground::word::word_enum;
use crate::trade::make::Grade;

mod words;

pub use words::{AsideReason, BinReason};

/// The reference section: a 150 mm pad on a 450 mm section, 4 passes at 50 mm/s with half overlap.
const REFERENCE_FACE_MM: i64 = 150;
const REFERENCE_FORCE_MN: i64 = 40_000;
const REFERENCE_THROW_MM: i64 = 15;
const REFERENCE_ORBITS_PER_MIN: i64 = 4_500;
const REFERENCE_TIME_MS: i64 = 144_000;
const MICRO: i64 = 1_000_000;
const MS_PER_HOUR: f64 = 3_600_000.0;

word_enum! {
    /// How a machine moves the pad.
    Action is "a machine action" {
        /// The pad runs round a small orbit.
        Orbital = "orbital",
        /// The pad turns about its own centre.
        Rotary = "rotary",
    }
}

word_enum! {
    /// How hard a person presses.
    Press is "a pressure" {
        /// Little more than the machine's weight.
        Light = "light",
        /// The usual press.
        Moderate = "moderate",
        /// A firm press, as for cutting.
        Firm = "firm",
    }
}

word_enum! {
    /// How much of its life an item has used.
    Band is "a wear band" {
        /// Much life is left.
        Sound = "sound",
        /// It is near its rating.
        Tired = "tired",
        /// Its rating is used up.
        Spent = "spent",
    }
}

/// The force behind each word for pressing, on a 150 mm pad, in millinewtons.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct PressForces {
    /// Light.
    pub light_mn: i64,
    /// Moderate.
    pub moderate_mn: i64,
    /// Firm.
    pub firm_mn: i64,
}

impl Default for PressForces {
    /// 15, 40 and 80 N. Basis: from memory.
    fn default() -> Self {
        Self {
            light_mn: 15_000,
            moderate_mn: REFERENCE_FORCE_MN,
            firm_mn: 80_000,
        }
    }
}

impl PressForces {
    /// The force of a press on a 150 mm pad, in millinewtons.
    #[must_use]
    pub(crate) const fn of(self, press: Press) -> i64 {
        match press {
            Press::Light => self.light_mn,
            Press::Moderate => self.moderate_mn,
            Press::Firm => self.firm_mn,
        }
    }
}

impl Press {
    /// The press of a step that says none: light on fine work, moderate on coarser.
    ///
    /// Basis: common practice, no source.
    #[must_use]
    pub(crate) const fn usual(grade: Grade) -> Self {
        match grade {
            Grade::Coarse | Grade::Medium => Self::Moderate,
            Grade::Fine => Self::Light,
        }
    }

    /// The force on a pad of this face, in millinewtons.
    #[must_use]
    pub(crate) fn force_mn(self, face: Length, forces: PressForces) -> i64 {
        force_mn_on(forces.of(self), face)
    }
}

/// A force stated for a 150 mm pad, on this face: scaled by (d / 150 mm)² below 150 mm, so that the
/// pressure stays, and unchanged above. Rounded half up to whole millinewtons.
#[must_use]
pub(crate) fn force_mn_on(press_force_150_mn: i64, face: Length) -> i64 {
    let mm = face.mm().clamp(0, REFERENCE_FACE_MM);
    half_up(
        product([press_force_150_mn, mm, mm]),
        product([REFERENCE_FACE_MM, REFERENCE_FACE_MM]),
    )
}

/// Work done on a pad, in millionths of a reference section.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[serde(transparent)]
pub struct Work(i64);

impl Work {
    /// No work.
    pub const ZERO: Self = Self(0);

    /// From millionths of a reference section.
    #[must_use]
    pub const fn from_micro_sections(micro: i64) -> Self {
        Self(micro)
    }

    /// In millionths of a reference section.
    #[must_use]
    pub const fn micro_sections(self) -> i64 {
        self.0
    }

    /// In reference sections, for statistics and printing.
    #[must_use]
    pub(crate) fn reference_sections(self) -> f64 {
        exact_f64(self.0) / exact_f64(MICRO)
    }

    /// The sum, or `None` where it does not fit.
    #[must_use]
    pub fn checked_add(self, other: Self) -> Option<Self> {
        self.0.checked_add(other.0).map(Self)
    }

    /// The difference, or `None` where it does not fit.
    #[must_use]
    pub fn checked_sub(self, other: Self) -> Option<Self> {
        self.0.checked_sub(other.0).map(Self)
    }

    /// The sum, held at the ends.
    #[must_use]
    pub const fn saturating_add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }

    /// The difference, held at the ends.
    #[must_use]
    pub const fn saturating_sub(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}

/// One use of a pad, as far as its wear depends on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct WorkAsk {
    /// Diameter of the pad face.
    pub face: Length,
    /// Force on the face, in millinewtons.
    pub force_mn: i64,
    /// How the machine moves the pad.
    pub action: Action,
    /// Diameter of the orbit; not used for a rotary machine.
    pub throw: Length,
    /// Orbits or turns per minute.
    pub speed_per_min: i64,
    /// Time on paint, in milliseconds.
    pub time_ms: i64,
}

/// Work of one use: w = (P / P_ref) (u / u_ref) (t / 144 s), computed exactly and rounded half up.
///
/// P is the pressure on the face, u the mean sliding speed: π throw OPM, or (2/3) π d RPM. Reference:
/// 150 mm face, 40 N, 15 mm throw at 4500 a minute, 144 s. A figure that is not above zero makes no
/// work. Basis: Archard's law, wear depth ∝ pressure × sliding distance; only ratios are used.
#[must_use]
pub(crate) fn work_of(ask: &WorkAsk) -> Work {
    let face_mm = ask.face.mm();
    let slide_mm = match ask.action {
        Action::Orbital => ask.throw.mm().saturating_mul(3),
        Action::Rotary => face_mm.saturating_mul(2),
    };
    let figures = [
        face_mm,
        ask.force_mn,
        slide_mm,
        ask.speed_per_min,
        ask.time_ms,
    ];
    if figures.iter().any(|figure| *figure <= 0) {
        return Work::ZERO;
    }
    let done = product([
        ask.force_mn,
        slide_mm,
        ask.speed_per_min,
        ask.time_ms,
        MICRO,
    ])
    .saturating_mul(product([REFERENCE_FACE_MM, REFERENCE_FACE_MM]));
    let reference = product([
        REFERENCE_FORCE_MN,
        REFERENCE_ORBITS_PER_MIN,
        REFERENCE_TIME_MS,
    ])
    .saturating_mul(product([3, REFERENCE_THROW_MM, face_mm, face_mm]));
    Work(half_up(done, reference))
}

/// Damage of a pad: work / rated reference sections + washes / rated washes, by `miner`.
#[must_use]
pub fn damage(work: Work, rating_sections: i64, washes: i64, rating_washes: i64) -> f64 {
    miner(&[
        (work.reference_sections(), exact_f64(rating_sections)),
        (exact_f64(washes), exact_f64(rating_washes)),
    ])
}

/// Damage of a plate: running time / rated hours + pad changes / rated changes, by [`miner`].
#[must_use]
pub(crate) fn plate_damage(
    run_ms: i64,
    rating_h: Option<i64>,
    changes: i64,
    rating_changes: Option<i64>,
) -> f64 {
    let rating = |given: Option<i64>| exact_f64(given.unwrap_or(0));
    miner(&[
        (exact_f64(run_ms) / MS_PER_HOUR, rating(rating_h)),
        (exact_f64(changes), rating(rating_changes)),
    ])
}

/// Palmgren–Miner damage: Σ applied / rated over all loads, the one damage sum of the book.
///
/// A rating that is not above zero leaves its load out. Above one the ratings are used up. Source:
/// M. A. Miner, *Cumulative damage in fatigue*, J. Appl. Mech. 12 (1945), A159–A164.
#[must_use]
pub(crate) fn miner(applied_rated: &[(f64, f64)]) -> f64 {
    let rated = applied_rated.iter().filter(|(_, rated)| *rated > 0.0);
    rated.fold(0.0, |sum, (applied, rated)| sum + applied / rated)
}

/// The band of a damage: below `tired_at` sound, below `spent_at` tired, else spent.
///
/// Defaults are 0.6 and 1, as the policies `tired_permille` and `spent_permille`.
#[must_use]
pub(crate) fn band(damage: f64, tired_at: f64, spent_at: f64) -> Band {
    if damage < tired_at {
        Band::Sound
    } else if damage < spent_at {
        Band::Tired
    } else {
        Band::Spent
    }
}

#[cfg(test)]
mod tests;
