//! How small a machine a panel takes: the big one, the spot machine, pencil pads, or the hand.
//!
//! It serves steps that several machines share. Which part of a panel each reaches is said of the car where
//! somebody looked, else it goes by the panel; no part is ever worked by two machines or by none.

use fettlebook_quantity::Area;
use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::ground::exact::{floor_div, product};
use crate::ground::word::word_enum;
use crate::trade::panel::Panel;

word_enum! {
    /// How small a machine a part of a panel takes.
    Reach is "a reach" {
        /// The big machine: open, flat paint.
        Big = "big",
        /// The spot machine: tight paint.
        Spot = "spot",
        /// Pencil pads: edges, round handles and badges.
        Pencil = "pencil",
        /// The hand.
        Hand = "hand",
    }
}

impl Reach {
    /// What a panel takes where nobody said otherwise: large panels the big machine, low and tight ones the
    /// spot machine, edges pencil pads. Basis: common practice, no source.
    #[must_use]
    pub const fn usual(panel: Panel) -> Self {
        match panel {
            Panel::Bonnet
            | Panel::Roof
            | Panel::Boot
            | Panel::FrontDoorLeft
            | Panel::FrontDoorRight
            | Panel::RearDoorLeft
            | Panel::RearDoorRight
            | Panel::FrontWingLeft
            | Panel::FrontWingRight
            | Panel::RearQuarterLeft
            | Panel::RearQuarterRight => Self::Big,
            Panel::FrontBumper | Panel::RearBumper | Panel::SillLeft | Panel::SillRight => {
                Self::Spot
            }
            Panel::PillarsLeft | Panel::PillarsRight | Panel::MirrorLeft | Panel::MirrorRight => {
                Self::Pencil
            }
        }
    }

    /// Which of the reaches of a step works what takes this one, first choice first: its own, else what comes
    /// nearest. Basis: common practice, no source: edges that no pencil pad works are done by hand.
    pub(crate) const fn in_place(self) -> [Self; 4] {
        match self {
            Self::Big => [Self::Big, Self::Spot, Self::Hand, Self::Pencil],
            Self::Spot => [Self::Spot, Self::Big, Self::Pencil, Self::Hand],
            Self::Pencil => [Self::Pencil, Self::Hand, Self::Spot, Self::Big],
            Self::Hand => [Self::Hand, Self::Pencil, Self::Spot, Self::Big],
        }
    }

    /// Whether it comes as near to an edge as another: a hand and a pencil pad alike.
    pub(crate) const fn is_as_fine_as(self, other: Self) -> bool {
        self.fineness() >= other.fineness()
    }

    const fn fineness(self) -> u8 {
        match self {
            Self::Big => 0,
            Self::Spot => 1,
            Self::Pencil | Self::Hand => 2,
        }
    }
}

/// All of a panel, in thousandths.
const WHOLE_PERMILLE: i64 = 1_000;

/// Why a panel cannot be split so.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum SplitError {
    /// A part is no part.
    #[error("a part of {0} thousandths is outside 1 to 1000")]
    Part(i64),
    /// A reach is named twice.
    #[error("{0} is given twice")]
    Twice(Reach),
    /// The parts are less than the panel.
    #[error("{0} thousandths of it are given to no machine")]
    Open(i64),
    /// The parts are more than the panel.
    #[error("{0} thousandths of it are given to two machines")]
    Over(i64),
}

/// The parts of a panel by reach, in thousandths, which add up to all of it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "Vec<Part>", into = "Vec<Part>")]
pub struct Split(Vec<Part>);

/// A part of a panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Part {
    /// What it takes.
    pub reach: Reach,
    /// How much of the panel it is, in thousandths.
    pub permille: i64,
}

impl Split {
    /// The parts of a panel.
    ///
    /// # Errors
    /// Where they do not add up to the panel, or one is named twice.
    pub fn new(parts: Vec<Part>) -> Result<Self, SplitError> {
        let mut seen = Vec::new();
        let mut sum = 0_i64;
        for part in &parts {
            if !(1..=WHOLE_PERMILLE).contains(&part.permille) {
                return Err(SplitError::Part(part.permille));
            }
            if seen.contains(&part.reach) {
                return Err(SplitError::Twice(part.reach));
            }
            seen.push(part.reach);
            sum = sum.saturating_add(part.permille);
        }
        match WHOLE_PERMILLE.saturating_sub(sum) {
            0 => Ok(Self(parts)),
            open if open > 0 => Err(SplitError::Open(open)),
            over => Err(SplitError::Over(over.saturating_neg())),
        }
    }

    /// Its parts.
    pub fn parts(&self) -> &[Part] {
        &self.0
    }

    /// An area by its parts, to the mm²: they add up to the area, for each part ends where the next begins.
    pub(crate) fn of(&self, area: Area) -> impl Iterator<Item = (Reach, Area)> {
        let (mut permille, mut before_mm2) = (0_i64, 0_i64);
        self.0.iter().map(move |part| {
            permille = permille.saturating_add(part.permille);
            let up_to_mm2 = floor_div(product([area.mm2(), permille]), i128::from(WHOLE_PERMILLE));
            let own_mm2 = up_to_mm2.saturating_sub(before_mm2);
            before_mm2 = up_to_mm2;
            (part.reach, Area::from_mm2(own_mm2))
        })
    }
}

impl TryFrom<Vec<Part>> for Split {
    type Error = SplitError;

    fn try_from(parts: Vec<Part>) -> Result<Self, SplitError> {
        Self::new(parts)
    }
}

impl From<Split> for Vec<Part> {
    fn from(split: Split) -> Self {
        split.0
    }
}

#[cfg(test)]
mod tests {
    use fettlebook_quantity::Area;
    use proptest::prelude::*;

    use super::{Part, Reach, Split, SplitError};
    use crate::trade::car::CarClass;

    fn split(parts: &[(Reach, i64)]) -> Result<Split, SplitError> {
        let part = |(reach, permille): &(Reach, i64)| Part {
            reach: *reach,
            permille: *permille,
        };
        Split::new(parts.iter().map(part).collect())
    }

    /// Source: common practice, no source; arithmetic of the medium saloon's panels: 9.31 m² large, 2.55 m²
    /// low and tight, 0.34 m² edges.
    #[test]
    fn each_panel_takes_one_machine_until_somebody_says_otherwise() {
        let of = |wanted: Reach| {
            let panels = CarClass::MediumSaloon.default_panels();
            let own = panels
                .into_iter()
                .filter(|(panel, _)| Reach::usual(*panel) == wanted);
            own.fold(0, |sum, (_, area)| sum + area.mm2())
        };
        assert_eq!(
            Reach::ALL
                .iter()
                .map(|reach| of(*reach))
                .collect::<Vec<_>>(),
            [9_310_000, 2_550_000, 340_000, 0]
        );
    }

    #[test]
    fn a_panel_is_given_whole_and_once() {
        use Reach::{Big, Spot};
        assert_eq!(split(&[(Big, 900)]), Err(SplitError::Open(100)));
        assert_eq!(
            split(&[(Big, 900), (Spot, 200)]),
            Err(SplitError::Over(100))
        );
        assert_eq!(
            split(&[(Big, 500), (Big, 500)]),
            Err(SplitError::Twice(Big))
        );
        assert_eq!(split(&[(Big, 1_000), (Spot, 0)]), Err(SplitError::Part(0)));
        assert_eq!(split(&[]), Err(SplitError::Open(1_000)));
    }

    #[test]
    fn what_no_machine_of_its_reach_works_goes_to_the_nearest() {
        for reach in Reach::ALL {
            let mut others = reach.in_place();
            assert_eq!(others[0], *reach);
            others.sort();
            assert_eq!(others, Reach::ALL);
        }
    }

    proptest! {
        /// Property: the parts of a panel are the panel, to the mm².
        #[test]
        fn the_parts_of_an_area_add_up_to_it(
            mm2 in 0_i64..20_000_000,
            (big, spot) in (1_i64..998).prop_flat_map(|big| (Just(big), 1..(999 - big))),
        ) {
            let split = split(&[
                (Reach::Big, big),
                (Reach::Spot, spot),
                (Reach::Pencil, 1_000 - big - spot),
            ]).unwrap();
            let parts: Vec<_> = split.of(Area::from_mm2(mm2)).collect();
            prop_assert_eq!(parts.iter().map(|(_, part)| part.mm2()).sum::<i64>(), mm2);
            for (part, (_, area)) in split.parts().iter().zip(&parts) {
                // Never a mm² off its exact part.
                let exact_millionths = mm2 * part.permille;
                prop_assert!((area.mm2() * 1_000 - exact_millionths).abs() < 1_000);
            }
        }
    }
}
