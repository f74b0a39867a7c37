//! Wear on one clock: the work a use puts on a pad, and the damage it adds up to.
//!
//! It serves the kit's life, the check and the cost. Work is counted exactly in millionths of a
//! reference section; damage is an estimate and is reported above one, never clipped.

use std::f64::consts::PI;

use fettlebook_quantity::{Length, exact_f64};
use serde::{Deserialize, Serialize};

use crate::exact::{half_up, product};
use crate::word::word_enum;

mod words;

pub use words::{AsideReason, BinReason};

/// The reference section: a 150 mm pad on a 450 mm section, 4 passes at 50 mm/s with half overlap.
const REFERENCE_FACE_MM: i64 = 150;
const REFERENCE_FORCE_MN: i64 = 40_000;
const REFERENCE_THROW_MM: i64 = 15;
const REFERENCE_ORBITS_PER_MIN: i64 = 4_500;
const REFERENCE_TIME_MS: i64 = 144_000;
const MICRO: i64 = 1_000_000;
const SECONDS_PER_MINUTE: f64 = 60.0;

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
pub struct PressForces {
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
    pub const fn of(self, press: Press) -> i64 {
        match press {
            Press::Light => self.light_mn,
            Press::Moderate => self.moderate_mn,
            Press::Firm => self.firm_mn,
        }
    }
}

impl Press {
    /// The force on a pad of this face, in millinewtons.
    #[must_use]
    pub fn force_mn(self, face: Length, forces: PressForces) -> i64 {
        force_mn_on(forces.of(self), face)
    }
}

/// A force stated for a 150 mm pad, on this face: scaled by (d / 150 mm)² below 150 mm, so that the
/// pressure stays, and unchanged above. Rounded half up to whole millinewtons.
#[must_use]
pub fn force_mn_on(press_force_150_mn: i64, face: Length) -> i64 {
    let mm = face.mm().clamp(0, REFERENCE_FACE_MM);
    half_up(
        product([press_force_150_mn, mm, mm]),
        product([REFERENCE_FACE_MM, REFERENCE_FACE_MM]),
    )
}

/// Mean sliding speed of an orbiting pad in m/s: π × throw × orbits a second.
///
/// `throw_m` is the *diameter* of the orbit in metres, `opm` the orbits per minute. The free spin of
/// the pad, which adds a few per cent, is left out.
#[must_use]
pub fn orbit_speed_m_per_s(throw_m: f64, opm: f64) -> f64 {
    PI * throw_m * opm / SECONDS_PER_MINUTE
}

/// Mean sliding speed over the face of a turning pad in m/s: (2/3) π d n, n in turns a second.
///
/// `d_m` is the diameter in metres, `rpm` the turns per minute. Two thirds of the rim speed is the
/// mean over the area under uniform pressure.
#[must_use]
pub fn disc_mean_speed_m_per_s(d_m: f64, rpm: f64) -> f64 {
    2.0 / 3.0 * PI * d_m * rpm / SECONDS_PER_MINUTE
}

/// Pressure on a round face in Pa: F / (π d² / 4), `force_n` in newtons, `d_m` in metres above zero.
#[must_use]
pub fn pressure_pa(force_n: f64, d_m: f64) -> f64 {
    force_n / (PI * d_m * d_m / 4.0)
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
    pub fn reference_sections(self) -> f64 {
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
pub struct WorkAsk {
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
pub fn work_of(ask: &WorkAsk) -> Work {
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

/// Damage of an item: work / rated reference sections + washes / rated washes.
///
/// A rating that is not above zero leaves its term out. Above one the rating is used up.
#[must_use]
pub fn damage(work: Work, rating_sections: i64, washes: i64, rating_washes: i64) -> f64 {
    let share = |used: f64, rating: i64| {
        if rating > 0 {
            used / exact_f64(rating)
        } else {
            0.0
        }
    };
    share(work.reference_sections(), rating_sections) + share(exact_f64(washes), rating_washes)
}

/// Palmgren–Miner damage: Σ applied / rated over all loads.
///
/// `None` where a rated life is not above zero or an applied one is negative or no number.
#[must_use]
pub fn miner(applied_rated: &[(f64, f64)]) -> Option<f64> {
    applied_rated.iter().try_fold(0.0, |sum, (applied, rated)| {
        let usable = *applied >= 0.0 && applied.is_finite() && *rated > 0.0;
        usable.then(|| sum + applied / rated)
    })
}

/// Life left at another load: (1 − damage) × its rated life; nothing once damage reaches one.
#[must_use]
pub fn miner_remaining(damage: f64, next_rated: f64) -> f64 {
    (1.0 - damage).max(0.0) * next_rated
}

/// The band of a damage: below `tired_at` sound, below `spent_at` tired, else spent.
///
/// Defaults are 0.6 and 1, as the policies `tired_permille` and `spent_permille`.
#[must_use]
pub fn band(damage: f64, tired_at: f64, spent_at: f64) -> Band {
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
