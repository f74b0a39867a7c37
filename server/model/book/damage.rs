//! How worn a piece is: its damage by the ratings of its make, and the band that falls in.

use fettlebook_quantity::exact_f64;

use crate::Book;
use crate::trade::kit::{PadState, Piece, Readiness, State};
use crate::trade::make::{Figures, PadFigures};
use crate::trade::policy::{Policy, PolicyKey};
use crate::trade::wear::{Band, BinReason, band, damage, plate_damage};

/// Cumulative damage of a piece that wears; `None` for one that does not.
pub fn damage_of(book: &Book, piece: &Piece) -> Option<f64> {
    let make = book.make(&piece.make)?;
    match (&piece.state, &make.figures) {
        (State::Pad(pad), Figures::Pad(figures)) => Some(pad_damage(pad, figures)),
        (State::Plate(plate), Figures::Plate(figures)) => Some(plate_damage(
            plate.run_time_ms,
            figures.rated_run_h,
            plate.change_count,
            figures.rated_change_count,
        )),
        // A battery is spent after its rated charges, when the policy says how much it still holds.
        (State::Battery(battery), Figures::Battery(figures)) => {
            let rated = figures.rated_charge_count.filter(|rated| *rated > 0)?;
            Some(exact_f64(battery.charge_count) / exact_f64(rated))
        }
        _ => None,
    }
}

/// Cumulative damage of a pad by the ratings of its make.
pub(crate) fn pad_damage(pad: &PadState, figures: &PadFigures) -> f64 {
    damage(
        pad.work,
        figures.rated_work_sections.unwrap_or(0),
        pad.wash_count,
        figures.rated_wash_count.unwrap_or(0),
    )
}

/// Wear band of a piece by the policy's limits; one that was binned for what inspection found is
/// spent whatever its damage. `None` for what does not wear.
pub fn wear_band(book: &Book, piece: &Piece) -> Option<Band> {
    let damage = damage_of(book, piece)?;
    Some(match piece.readiness {
        Readiness::Binned(reason) if reason.is_failure() && reason != BinReason::Precaution => {
            Band::Spent
        }
        _ => band_of(book.policy(), damage),
    })
}

/// Wear band by the policy's limits.
pub(crate) fn band_of(policy: &Policy, damage: f64) -> Band {
    let limit = |key| exact_f64(policy.value(key)) / 1000.0;
    band(
        damage,
        limit(PolicyKey::TiredPermille),
        limit(PolicyKey::SpentPermille),
    )
}
