//! How a section is worked: strokes, travel and time of a pad over a square of paint.
//!
//! It serves planning, wear and exposure, which all start from minutes on paint. Everything is whole
//! millimetres and exact fractions; no time here is a promise about a person's pace.

use fettlebook_quantity::{Area, Length, Ratio};
use thiserror::Error;

use crate::ground::exact::{ceil_div, half_up, product};

const FACE_MM: (i64, i64) = (10, 300);
const SIDE_MM: (i64, i64) = (10, 2_000);
const PASSES: (i64, i64) = (1, 20);
const ARM_SPEED_MM_PER_S: (i64, i64) = (1, 300);
const LARGEST_OVERLAP_PERMILLE: i64 = 900;

/// Why a way of working is refused.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub(crate) enum StrokeError {
    /// The section side.
    #[error("a section side of {0} is outside 10 to 2000 mm; correct the side")]
    Side(Length),
    /// The pad face.
    #[error("a pad face of {0} is outside 10 to 300 mm; correct the pad's diameter")]
    Face(Length),
    /// The overlap.
    #[error("an overlap of {0} is outside 0 to 9/10; correct the overlap")]
    Overlap(Ratio),
    /// The passes.
    #[error("{0} passes is outside 1 to 20; correct the passes")]
    Passes(i64),
    /// The arm speed.
    #[error("an arm speed of {0} mm/s is outside 1 to 300 mm/s; correct the arm speed")]
    ArmSpeed(i64),
}

impl StrokeError {
    /// The field of a step that is wrong.
    #[must_use]
    pub(crate) const fn field(&self) -> &'static str {
        match self {
            Self::Side(_) => "side_mm",
            Self::Face(_) => "pad_make",
            Self::Overlap(_) => "overlap_permille",
            Self::Passes(_) => "pass_count",
            Self::ArmSpeed(_) => "arm_speed_mm_per_s",
        }
    }
}

/// A way of working a square section with a round pad, with every figure within its limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Lane {
    side: Length,
    face: Length,
    overlap: Ratio,
    passes: i64,
    arm_speed_mm_per_s: i64,
}

impl Lane {
    /// A section of `side`, a pad of diameter `face`, strokes overlapping by `overlap`, `passes` in
    /// one set, the arm moving at `arm_speed_mm_per_s`.
    ///
    /// # Errors
    /// Names the figure that is outside its limits: side 10–2000 mm, face 10–300 mm, overlap 0–0.9,
    /// passes 1–20, arm speed 1–300 mm/s.
    pub(crate) fn new(
        side: Length,
        face: Length,
        overlap: Ratio,
        passes: i64,
        arm_speed_mm_per_s: i64,
    ) -> Result<Self, StrokeError> {
        if outside(side.mm(), SIDE_MM) {
            return Err(StrokeError::Side(side));
        }
        if outside(face.mm(), FACE_MM) {
            return Err(StrokeError::Face(face));
        }
        if overlap < Ratio::ZERO || overlap > Ratio::from_permille(LARGEST_OVERLAP_PERMILLE) {
            return Err(StrokeError::Overlap(overlap));
        }
        if outside(passes, PASSES) {
            return Err(StrokeError::Passes(passes));
        }
        if outside(arm_speed_mm_per_s, ARM_SPEED_MM_PER_S) {
            return Err(StrokeError::ArmSpeed(arm_speed_mm_per_s));
        }
        Ok(Self {
            side,
            face,
            overlap,
            passes,
            arm_speed_mm_per_s,
        })
    }

    /// Side of the section.
    #[must_use]
    pub(crate) const fn side(self) -> Length {
        self.side
    }

    /// Diameter of the pad face.
    #[must_use]
    pub(crate) const fn face(self) -> Length {
        self.face
    }

    /// Passes in one set: 4 is up and down, both ways, and across, both ways.
    #[must_use]
    pub(crate) const fn passes(self) -> i64 {
        self.passes
    }

    /// Speed of the arm, in mm/s.
    #[must_use]
    pub(crate) const fn arm_speed_mm_per_s(self) -> i64 {
        self.arm_speed_mm_per_s
    }

    /// What the pad's centre runs across, and the pitch between strokes as `top` / `bottom`.
    fn run_and_pitch(self) -> (i64, i128, i64) {
        let bottom = self.overlap.den();
        let fresh = bottom.saturating_sub(self.overlap.num());
        let run_mm = self.side.mm().saturating_sub(self.face.mm()).max(0);
        (run_mm, product([self.face.mm(), fresh]), bottom)
    }

    /// Travel of one pass in mm, as an exact fraction `top` / `bottom`.
    fn travel(self) -> (i128, i64) {
        let (run_mm, pitch, bottom) = self.run_and_pitch();
        let n = strokes(&self);
        let along = product([n, run_mm, bottom]);
        let between = pitch.saturating_mul(i128::from(n.saturating_sub(1)));
        (along.saturating_add(between), bottom)
    }
}

/// Strokes needed to cover one section side, edge strokes included.
///
/// Formula: n = ⌈(S − d) / (d (1 − o))⌉ + 1, or 1 when the pad covers the side.
/// Exact throughout: in floating point 300 / 75 may round up to 5.
#[must_use]
pub(crate) fn strokes(lane: &Lane) -> i64 {
    let (run_mm, pitch, bottom) = lane.run_and_pitch();
    ceil_div(product([run_mm, bottom]), pitch).saturating_add(1)
}

/// Time on one section in milliseconds, rounded half up once: passes × travel / arm speed.
#[must_use]
pub(crate) fn section_time_ms(lane: &Lane) -> i64 {
    let (top, bottom) = lane.travel();
    half_up(
        top.saturating_mul(product([lane.passes, 1_000])),
        product([bottom, lane.arm_speed_mm_per_s]),
    )
}

/// Sections that panels of these areas are worked in: ⌈Σ max(A / (S² (1 − blend)), ¼)⌉.
///
/// A panel counts for its fraction of a section and for no less than a quarter of one; the fractions are
/// summed exactly and rounded up once. A panel without area counts for nothing. `blend_permille` is the
/// part of a section that its neighbours work again, in thousandths; it is held to 0–900, and the side S
/// to at least one millimetre.
#[must_use]
pub(crate) fn sections_for(
    areas: impl IntoIterator<Item = Area>,
    side: Length,
    blend_permille: i64,
) -> i64 {
    let side_mm = side.mm().max(1);
    let own_permille = 1_000_i64.saturating_sub(blend_permille.clamp(0, 900));
    let section = product([side_mm, side_mm, own_permille]);
    // In quarters of a section, whose denominator is the section itself.
    let quarters = areas
        .into_iter()
        .filter(|area| *area > Area::ZERO)
        .map(|area| product([area.mm2(), 1_000, 4]).max(section))
        .fold(0_i128, i128::saturating_add);
    ceil_div(quarters, section.saturating_mul(4))
}

/// Time in milliseconds for a narrow pad that follows contours: area / (d v) × passes, half up.
///
/// Face and arm speed are held to at least one, area and passes to at least nothing.
#[must_use]
pub(crate) fn contour_time_ms(
    area: Area,
    face: Length,
    arm_speed_mm_per_s: i64,
    passes: i64,
) -> i64 {
    half_up(
        product([area.mm2().max(0), passes.max(0), 1_000]),
        product([face.mm().max(1), arm_speed_mm_per_s.max(1)]),
    )
}

const fn outside(value: i64, (least, most): (i64, i64)) -> bool {
    value < least || value > most
}

#[cfg(test)]
mod tests;
