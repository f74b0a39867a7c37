//! How many towels a wiped area takes, what their use teaches, and the one-way street of their grades.
//!
//! A towel never goes back to a finer grade, and one that touched the ground leaves the job whatever
//! this says.

mod pile;
mod wipings;

use fettlebook_quantity::{Area, exact_f64, round_to_i64};

pub(crate) use pile::{Handled, Pile};
pub use wipings::{Wiping, Wipings};

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

/// A towel is not counted for so small a part of one: the reciprocal of a tenth.
const PARTS_LEFT_OVER: i64 = 10;

/// Clean sides of a towel folded `folds` times: 2^(folds + 1), half of that where a wet or solvent
/// use soaks through. Folds are held to 0–5. Basis: geometry.
#[must_use]
pub(crate) fn sides(folds: i64, soaks_through: bool) -> i64 {
    let layers = (0..folds.clamp(0, MOST_FOLDS)).fold(1_i64, |layers, _| layers.saturating_mul(2));
    if soaks_through {
        layers
    } else {
        layers.saturating_mul(2)
    }
}

/// How far a towel goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct TowelReach {
    /// Its clean sides.
    pub(crate) side_count: i64,
    /// What a side wipes before it is turned.
    pub(crate) side: Area,
}

impl TowelReach {
    /// Towels for an area, all steps together: area / (sides × area a side), rounded up where more than
    /// a tenth of a towel is over, at least one for any area.
    #[must_use]
    pub(crate) fn towels_for(self, wiped: Area) -> i64 {
        if wiped <= Area::ZERO {
            return 0;
        }
        let towel = self.towel_mm2();
        let tenths = product([wiped.mm2(), PARTS_LEFT_OVER]).saturating_sub(towel);
        ceil_div(tenths, towel.saturating_mul(PARTS_LEFT_OVER.into())).max(1)
    }

    /// The same without rounding: a number of towels.
    #[must_use]
    pub(crate) fn exact(self, wiped: Area) -> f64 {
        let towel = i64::try_from(self.towel_mm2()).unwrap_or(i64::MAX);
        exact_f64(wiped.mm2().max(0)) / exact_f64(towel)
    }

    /// What a towel wipes, mm².
    fn towel_mm2(self) -> i128 {
        product([self.side_count.max(1), self.side.mm2().max(1)])
    }
}

/// Whole pieces for a number of them that was learnt, rounded up where more than a tenth is over.
#[must_use]
pub(crate) fn whole_pieces(exact: f64) -> i64 {
    let tenth = 1.0 / exact_f64(PARTS_LEFT_OVER);
    round_to_i64((exact - tenth).ceil()).max(i64::from(exact > 0.0))
}

/// Towels where clean sides are counted a section: ⌈sections × sides a section / sides a towel⌉.
#[must_use]
pub(crate) fn towels_by_section(
    sections: i64,
    sides_per_section: i64,
    sides_per_towel: i64,
) -> i64 {
    ceil_div(
        product([sections.max(0), sides_per_section.max(0)]),
        i128::from(sides_per_towel),
    )
}

#[cfg(test)]
mod tests {
    use fettlebook_quantity::Area;

    use super::{TowelGrade, TowelReach, sides, towels_by_section, whole_pieces};
    use crate::trade::car::CarClass;

    /// Source: geometry: two folds make four layers and eight sides.
    #[test]
    fn folding_doubles_the_clean_sides() {
        assert_eq!(
            (sides(0, false), sides(1, false), sides(2, false)),
            (2, 4, 8)
        );
        assert_eq!((sides(2, true), sides(0, true)), (4, 1));
        assert_eq!(sides(i64::MAX, false), 64);
    }

    const TWICE_FOLDED: TowelReach = TowelReach {
        side_count: 8,
        side: Area::from_mm2(510_000),
    };

    /// Basis: common practice, no source: six edgeless towels, folded twice, do an average car over two
    /// steps; the others by arithmetic, 2 × area / (8 × 0.51 m²).
    #[test]
    fn six_towels_do_a_medium_saloon_and_a_van_takes_ten() {
        for (class, towels) in [
            (CarClass::City, 5),
            (CarClass::SmallHatch, 6),
            (CarClass::MediumHatch, 6),
            (CarClass::MediumSaloon, 6),
            (CarClass::LargeSaloon, 7),
            (CarClass::Estate, 7),
            (CarClass::MediumSuv, 7),
            (CarClass::LargeSuv, 8),
            (CarClass::Pickup, 8),
            (CarClass::Van, 10),
        ] {
            let wiped = class.total().saturating_add(class.total());
            assert_eq!(TWICE_FOLDED.towels_for(wiped), towels, "{class:?}");
        }
    }

    /// Source: arithmetic: 4.08 m² a towel; a tenth of one is 0.408 m².
    #[test]
    fn a_tenth_of_a_towel_is_not_another_towel() {
        let towels = |mm2| TWICE_FOLDED.towels_for(Area::from_mm2(mm2));
        assert_eq!((towels(0), towels(1), towels(4_080_000)), (0, 1, 1));
        assert_eq!((towels(4_488_000), towels(4_488_001)), (1, 2));
        assert_eq!((whole_pieces(0.0), whole_pieces(0.05)), (0, 1));
        assert_eq!((whole_pieces(6.0), whole_pieces(6.2)), (6, 7));
    }

    /// Source: arithmetic: 48 / 8 = 6; 66 × 2 / 8 = 16.5, so 17.
    #[test]
    fn towels_by_the_section_are_whole() {
        assert_eq!(towels_by_section(48, 1, 8), 6);
        assert_eq!(towels_by_section(66, 2, 8), 17);
        assert_eq!(towels_by_section(0, 1, 8), 0);
    }

    #[test]
    fn a_towel_never_goes_back_to_a_finer_grade() {
        assert!(TowelGrade::Final.may_become(TowelGrade::Wheels));
        assert!(TowelGrade::Residue.may_become(TowelGrade::Residue));
        assert!(!TowelGrade::Wheels.may_become(TowelGrade::Final));
    }
}
