//! How much paint a car has: measured, from its class, or from its overall size.
//!
//! It serves planning. Published totals for similar cars disagree five-fold, so every area carries
//! its basis and can be edited; none of these figures may be shown as a measurement.

use fettlebook_quantity::{Area, Length};
use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::ground::exact::{floor_div, half_up, product};
use crate::ground::word::word_enum;
use crate::trade::panel::Panel;

mod class_parts;

word_enum! {
    /// The kind of car, for default areas.
    CarClass is "a car class" {
        /// City car.
        City = "city",
        /// Small hatchback.
        SmallHatch = "small-hatch",
        /// Medium hatchback.
        MediumHatch = "medium-hatch",
        /// Medium saloon.
        MediumSaloon = "medium-saloon",
        /// Large saloon.
        LargeSaloon = "large-saloon",
        /// Estate.
        Estate = "estate",
        /// Two-door sports car.
        Sports = "sports",
        /// Medium SUV.
        MediumSuv = "medium-suv",
        /// Large SUV.
        LargeSuv = "large-suv",
        /// Pickup with a double cab.
        Pickup = "pickup",
        /// Panel van.
        Van = "van",
    }
}

word_enum! {
    /// Where an area comes from, in order of trust.
    AreaBasis is "a basis of area" {
        /// Measured on the car.
        Measured = "measured",
        /// The default of its class.
        ClassDefault = "class-default",
        /// Worked out from overall length, width and height.
        Dimensions = "dimensions",
    }
}

impl AreaBasis {
    /// What a person should know about an area with this basis.
    #[must_use]
    pub const fn sentence(self) -> &'static str {
        match self {
            Self::Measured => "measured on the car",
            Self::ClassDefault => "the default of its class; measure a panel to improve it",
            Self::Dimensions => {
                "worked out from overall size, give or take a fifth; measure a panel to improve it"
            }
        }
    }
}

impl CarClass {
    /// Default painted area of the whole car. Basis: derived from sizes from memory.
    #[must_use]
    pub fn total(self) -> Area {
        self.default_panels()
            .iter()
            .fold(Area::ZERO, |sum, (_, area)| sum.saturating_add(*area))
    }

    /// Default area of each panel this class has. Basis: derived from sizes from memory.
    #[must_use]
    pub(crate) fn default_panels(self) -> Vec<(Panel, Area)> {
        self.parts()
            .map(|(panel, part)| (panel, Area::from_mm2(part.saturating_mul(MM2_PER_PART))))
            .collect()
    }

    /// Painted share of the box around the car, in thousandths. Basis: derived, ± 20 %.
    #[must_use]
    pub(crate) const fn k_permille(self) -> i64 {
        match self {
            Self::City
            | Self::SmallHatch
            | Self::MediumHatch
            | Self::MediumSaloon
            | Self::LargeSaloon => 440,
            Self::Estate => 470,
            Self::Sports => 390,
            Self::MediumSuv | Self::LargeSuv => 455,
            Self::Pickup => 410,
            Self::Van => 550,
        }
    }

    /// The panels this class has, each with its part of the whole.
    fn parts(self) -> impl Iterator<Item = (Panel, i64)> {
        Panel::ALL
            .iter()
            .map(move |panel| (*panel, class_parts::part(self, *panel)))
            .filter(|(_, part)| *part > 0)
    }
}

/// A part in the class tables is a hundredth of a square metre at the class's default size.
const MM2_PER_PART: i64 = 10_000;

/// Overall size of a car, each within what a car can be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "StoredDimensions", into = "StoredDimensions")]
pub struct Dimensions {
    length: Length,
    width: Length,
    height: Length,
}

#[derive(Serialize, Deserialize)]
struct StoredDimensions {
    length_mm: Length,
    width_mm: Length,
    height_mm: Length,
}

/// Why an overall size is refused.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("a car's {field} of {given} is outside {least} to {most} mm; correct the {field}")]
pub struct DimensionsError {
    field: &'static str,
    given: Length,
    least: i64,
    most: i64,
}

impl DimensionsError {
    /// The figure that is wrong: `length`, `width` or `height`.
    #[must_use]
    pub const fn field(&self) -> &'static str {
        self.field
    }
}

impl Dimensions {
    /// Overall length, width without mirrors, and height.
    ///
    /// # Errors
    /// Names the figure outside its limits: length 1.5–12 m, width 1–3 m, height 0.8–4 m.
    pub fn new(length: Length, width: Length, height: Length) -> Result<Self, DimensionsError> {
        for (field, given, least, most) in [
            ("length", length, 1_500, 12_000),
            ("width", width, 1_000, 3_000),
            ("height", height, 800, 4_000),
        ] {
            if given.mm() < least || given.mm() > most {
                return Err(DimensionsError {
                    field,
                    given,
                    least,
                    most,
                });
            }
        }
        Ok(Self {
            length,
            width,
            height,
        })
    }

    /// Overall length.
    #[must_use]
    pub const fn length(self) -> Length {
        self.length
    }

    /// Overall width without mirrors.
    #[must_use]
    pub const fn width(self) -> Length {
        self.width
    }

    /// Overall height.
    #[must_use]
    pub const fn height(self) -> Length {
        self.height
    }
}

impl From<Dimensions> for StoredDimensions {
    fn from(size: Dimensions) -> Self {
        Self {
            length_mm: size.length,
            width_mm: size.width,
            height_mm: size.height,
        }
    }
}

impl TryFrom<StoredDimensions> for Dimensions {
    type Error = DimensionsError;

    fn try_from(stored: StoredDimensions) -> Result<Self, DimensionsError> {
        Self::new(stored.length_mm, stored.width_mm, stored.height_mm)
    }
}

/// Painted area from overall size: k (2 L H + 2 W H + L W), to the nearest mm².
#[must_use]
pub(crate) fn total_from_dimensions(size: Dimensions, k_permille: i64) -> Area {
    let (length, width, height) = (size.length.mm(), size.width.mm(), size.height.mm());
    let sides = product([2, length, height]);
    let ends = product([2, width, height]);
    let top = product([length, width]);
    let box_mm2 = sides.saturating_add(ends).saturating_add(top);
    Area::from_mm2(half_up(
        box_mm2.saturating_mul(i128::from(k_permille.max(0))),
        1_000,
    ))
}

/// Shares a total among the panels of a class, exactly: the parts add up to the total.
///
/// Each panel gets its whole mm²; what is left goes, one each, to the largest remainders.
#[must_use]
pub(crate) fn share_out(total: Area, class: CarClass) -> Vec<(Panel, Area)> {
    let total_mm2 = total.mm2().max(0);
    let whole = class
        .parts()
        .fold(0_i64, |sum, (_, part)| sum.saturating_add(part));
    let mut shares: Vec<(Panel, i64, i128)> = class
        .parts()
        .map(|(panel, part)| {
            let claim = product([total_mm2, part]);
            let share = floor_div(claim, i128::from(whole));
            (panel, share, claim.saturating_sub(product([share, whole])))
        })
        .collect();
    let shared = shares
        .iter()
        .fold(0_i64, |sum, (_, share, _)| sum.saturating_add(*share));
    let mut left = total_mm2.saturating_sub(shared);
    shares.sort_by_key(|(_, _, remainder)| std::cmp::Reverse(*remainder));
    for (_, share, _) in &mut shares {
        let extra = left.clamp(0, 1);
        *share = share.saturating_add(extra);
        left = left.saturating_sub(extra);
    }
    shares.sort_by_key(|(panel, _, _)| *panel);
    shares
        .into_iter()
        .map(|(panel, share, _)| (panel, Area::from_mm2(share)))
        .collect()
}

/// The surface of a panel from its flat outline, to the nearest mm².
///
/// `crown_permille` is the policy of that name, 1050 by default (from memory): a curved panel has
/// more surface than its outline.
#[must_use]
pub(crate) fn crowned(flat: Area, crown_permille: i64) -> Area {
    Area::from_mm2(half_up(
        i128::from(flat.mm2().max(0)).saturating_mul(i128::from(crown_permille.max(0))),
        1_000,
    ))
}

#[cfg(test)]
mod tests;
