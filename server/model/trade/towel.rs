//! How many towels a step takes, and the one-way street of towel grades.
//!
//! It serves the plan and the wash. A towel never goes back to a finer grade, and one that touched
//! the ground leaves the job whatever this says.

use crate::ground::exact::{ceil_div, product};
use crate::ground::word::word_enum;

/// More folds than this do not stay in a hand.
const MOST_FOLDS: i64 = 5;

word_enum! {
    /// What a towel may touch, from the most careful use down.
    TowelGrade is "a towel grade" {
        /// Last wipe on finished paint.
        Final = "final",
        /// Taking off product.
        Residue = "residue",
        /// Door shuts and glass.
        ShutsAndGlass = "shuts-and-glass",
        /// Wheels.
        Wheels = "wheels",
        /// Anything but paint.
        Rag = "rag",
    }
}

impl TowelGrade {
    /// Whether a towel of this grade may be used as `next`: the same grade or lower, never back up.
    #[must_use]
    pub(crate) fn may_become(self, next: Self) -> bool {
        next >= self
    }
}

/// Clean faces of a towel folded `folds` times: 2^(folds + 1), half of that where a wet or solvent
/// use soaks through. Folds are held to 0–5. Basis: geometry.
#[must_use]
pub fn cells(folds: i64, soaks_through: bool) -> i64 {
    let layers = (0..folds.clamp(0, MOST_FOLDS)).fold(1_i64, |layers, _| layers.saturating_mul(2));
    if soaks_through {
        layers
    } else {
        layers.saturating_mul(2)
    }
}

/// Towels for a step: ⌈sections × cells a section / cells a towel⌉.
#[must_use]
pub(crate) fn towels_for(sections: i64, cells_per_section: i64, cells_per_towel: i64) -> i64 {
    ceil_div(
        product([sections.max(0), cells_per_section.max(0)]),
        i128::from(cells_per_towel),
    )
}

#[cfg(test)]
mod tests {
    use super::{TowelGrade, cells, towels_for};

    /// Source: geometry: two folds make four layers and eight faces.
    #[test]
    fn folding_doubles_the_clean_faces() {
        assert_eq!(
            (cells(0, false), cells(1, false), cells(2, false)),
            (2, 4, 8)
        );
        assert_eq!((cells(2, true), cells(0, true)), (4, 1));
        assert_eq!(cells(i64::MAX, false), 64);
    }

    /// Source: arithmetic: 48 / 8 = 6; 66 × 2 / 8 = 16.5, so 17.
    #[test]
    fn towels_are_whole() {
        assert_eq!(towels_for(48, 1, 8), 6);
        assert_eq!(towels_for(66, 2, 8), 17);
        assert_eq!(towels_for(0, 1, 8), 0);
    }

    #[test]
    fn a_towel_never_goes_back_to_a_finer_grade() {
        assert!(TowelGrade::Final.may_become(TowelGrade::Wheels));
        assert!(TowelGrade::Residue.may_become(TowelGrade::Residue));
        assert!(!TowelGrade::Wheels.may_become(TowelGrade::Final));
    }
}
