//! What a book sets for itself instead of the defaults of the trade.
//!
//! It serves every formula that needs a figure people may disagree about. Only what differs from the
//! default is kept, so that a better default reaches every book that did not choose otherwise.

use std::collections::BTreeMap;
use std::fmt;
use std::str::FromStr;

use fettlebook_quantity::{Area, exact_f64};
use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::ground::word::WordError;
use crate::trade::film::FilmLimits;
use crate::trade::plate::MarginLimits;
use crate::trade::towel::{TowelReach, sides};
use crate::trade::wear::PressForces;

mod keys;

pub use keys::{Basis, PolicyKey};

/// Pairs that must keep their order: the first is at most the second.
const ORDERED: &[(PolicyKey, PolicyKey)] = &[
    (PolicyKey::ForceLightMn, PolicyKey::ForceModerateMn),
    (PolicyKey::ForceModerateMn, PolicyKey::ForceFirmMn),
    (PolicyKey::TiredPermille, PolicyKey::SpentPermille),
    (PolicyKey::TowelInspectWashes, PolicyKey::TowelDemoteWashes),
    (PolicyKey::MarginLeastMm, PolicyKey::MarginMostMm),
    (PolicyKey::MarginIdealLeastMm, PolicyKey::MarginIdealMostMm),
    (PolicyKey::MarginIdealMostMm, PolicyKey::MarginMostMm),
    (PolicyKey::FilmByHandUm, PolicyKey::FilmFineOnlyUm),
    (PolicyKey::FilmFineOnlyUm, PolicyKey::FilmCautionUm),
    (PolicyKey::FilmCautionUm, PolicyKey::FilmOrdinaryUm),
];

/// Why a policy is refused.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum PolicyError {
    /// The value is outside what the key accepts.
    #[error(
        "{key} = {value} is outside {} to {} {}; choose a value in that range",
        .key.spec().range.start(), .key.spec().range.end(), .key.spec().unit
    )]
    OutOfRange {
        /// The key.
        key: PolicyKey,
        /// The value refused.
        value: i64,
    },
    /// Two keys would change places.
    #[error("{lower} would be {lower_value}, above {upper} at {upper_value}; set {} first", .first)]
    OutOfOrder {
        /// The key that must not be above the other.
        lower: PolicyKey,
        /// Its value.
        lower_value: i64,
        /// The key that must not be below the other.
        upper: PolicyKey,
        /// Its value.
        upper_value: i64,
        /// The key to set before the one refused.
        first: PolicyKey,
    },
}

/// A book's own figures; every other key has its default.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Policy {
    overrides: BTreeMap<PolicyKey, i64>,
}

impl Policy {
    /// The value in force.
    #[must_use]
    pub fn value(&self, key: PolicyKey) -> i64 {
        self.overrides
            .get(&key)
            .copied()
            .unwrap_or_else(|| key.spec().default)
    }

    /// Sets a value; setting the default takes the override away.
    ///
    /// # Errors
    /// Says the accepted range, or which other key has to be set first to keep their order. Nothing
    /// changes then.
    pub fn set(&mut self, key: PolicyKey, value: i64) -> Result<(), PolicyError> {
        let spec = key.spec();
        if !spec.range.contains(&value) {
            return Err(PolicyError::OutOfRange { key, value });
        }
        self.keeps_order(key, value)?;
        self.put(key, Some(value));
        Ok(())
    }

    /// Takes over what an entry says was set; nothing, or the default, takes the override away.
    ///
    /// It judges nothing: what people ask for goes through [`Policy::set`].
    pub fn put(&mut self, key: PolicyKey, value: Option<i64>) {
        match value.filter(|value| *value != key.spec().default) {
            Some(value) => self.overrides.insert(key, value),
            None => self.overrides.remove(&key),
        };
    }

    /// What the book set for itself, in the order of [`PolicyKey::ALL`].
    pub(crate) fn overrides(&self) -> impl Iterator<Item = (PolicyKey, i64)> + '_ {
        self.overrides.iter().map(|(key, value)| (*key, *value))
    }

    /// The tax rate of a quote that names none, thousandths of a per cent: as it is set there, else in
    /// thousandths.
    #[must_use]
    pub(crate) fn tax_milli_percent(&self) -> i64 {
        const OF_A_PERMILLE: i64 = 100;
        let fine = self.overrides.get(&PolicyKey::TaxMilliPercent).copied();
        fine.unwrap_or_else(|| {
            self.value(PolicyKey::TaxPermille)
                .saturating_mul(OF_A_PERMILLE)
        })
    }

    /// The forces behind the words for pressing.
    #[must_use]
    pub(crate) fn press_forces(&self) -> PressForces {
        PressForces {
            light_mn: self.value(PolicyKey::ForceLightMn),
            moderate_mn: self.value(PolicyKey::ForceModerateMn),
            firm_mn: self.value(PolicyKey::ForceFirmMn),
        }
    }

    /// The film readings at which each band begins.
    #[must_use]
    pub(crate) fn film_limits(&self) -> FilmLimits {
        FilmLimits {
            ordinary_um: self.value(PolicyKey::FilmOrdinaryUm),
            caution_um: self.value(PolicyKey::FilmCautionUm),
            fine_only_um: self.value(PolicyKey::FilmFineOnlyUm),
            by_hand_um: self.value(PolicyKey::FilmByHandUm),
        }
    }

    /// How far a towel goes: its own number of sides where the book set one, else by its folds, half of
    /// them in a wet or solvent use.
    #[must_use]
    pub(crate) fn towel_reach(&self, soaks_through: bool) -> TowelReach {
        let own = self.value(PolicyKey::CellsPerTowel);
        let side_count = match own {
            0 => sides(self.value(PolicyKey::TowelFolds), soaks_through),
            own if soaks_through => own.div_euclid(2).max(1),
            own => own,
        };
        TowelReach {
            side_count,
            side: Area::from_mm2(self.value(PolicyKey::TowelSideMm2)),
        }
    }

    /// By how much a pad should be wider than its plate.
    #[must_use]
    pub(crate) fn margin_limits(&self) -> MarginLimits {
        MarginLimits {
            least_mm: self.value(PolicyKey::MarginLeastMm),
            close_mm: self.value(PolicyKey::MarginCloseMm),
            ideal_least_mm: self.value(PolicyKey::MarginIdealLeastMm),
            ideal_most_mm: self.value(PolicyKey::MarginIdealMostMm),
            most_mm: self.value(PolicyKey::MarginMostMm),
        }
    }

    fn keeps_order(&self, key: PolicyKey, value: i64) -> Result<(), PolicyError> {
        let would_be = |other: PolicyKey| {
            if other == key {
                value
            } else {
                self.value(other)
            }
        };
        for &(lower, upper) in ORDERED
            .iter()
            .filter(|(lower, upper)| key == *lower || key == *upper)
        {
            let (lower_value, upper_value) = (would_be(lower), would_be(upper));
            if lower_value > upper_value {
                let first = if key == lower { upper } else { lower };
                return Err(PolicyError::OutOfOrder {
                    lower,
                    lower_value,
                    upper,
                    upper_value,
                    first,
                });
            }
        }
        Ok(())
    }
}

impl PolicyKey {
    /// The stable name of the key.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        self.spec().name
    }

    /// Whether it is a price, or what is put on one.
    #[must_use]
    pub const fn is_price(self) -> bool {
        matches!(
            self,
            Self::EnergyPriceMilli
                | Self::WaterPriceMilli
                | Self::DetergentPriceMilli
                | Self::MarkupPermille
                | Self::LabourRateMilli
        )
    }
}

impl fmt::Display for PolicyKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_str())
    }
}

impl FromStr for PolicyKey {
    type Err = WordError;

    fn from_str(written: &str) -> Result<Self, WordError> {
        let name = written.trim().to_lowercase().replace(['-', ' '], "_");
        Self::ALL
            .iter()
            .copied()
            .find(|key| key.as_str() == name)
            .ok_or_else(|| {
                WordError::new(
                    written,
                    "a policy key",
                    Self::ALL.iter().map(|key| key.as_str()),
                )
            })
    }
}

impl TryFrom<String> for PolicyKey {
    type Error = WordError;

    fn try_from(name: String) -> Result<Self, WordError> {
        name.parse()
    }
}

impl From<PolicyKey> for String {
    fn from(key: PolicyKey) -> Self {
        key.as_str().to_owned()
    }
}

/// A policy in thousandths, as a ratio.
pub(crate) fn permille(policy: &Policy, key: PolicyKey) -> f64 {
    exact_f64(policy.value(key)) / 1000.0
}

#[cfg(test)]
mod tests {
    use std::collections::{BTreeMap, BTreeSet};

    use super::{ORDERED, Policy, PolicyKey};
    use crate::trade::film::FilmLimits;
    use crate::trade::plate::MarginLimits;
    use crate::trade::wear::PressForces;

    #[test]
    fn every_default_is_within_its_range_and_every_name_is_its_own() {
        let mut names = BTreeSet::new();
        for key in PolicyKey::ALL {
            let spec = key.spec();
            assert!(spec.range.contains(&spec.default), "{key}");
            assert!(names.insert(spec.name), "{key}");
            assert!(
                spec.meaning.ends_with('.') && !spec.unit.is_empty(),
                "{key}"
            );
            assert_eq!(spec.name.parse(), Ok(*key));
        }
    }

    #[test]
    fn the_defaults_keep_every_order() {
        for (lower, upper) in ORDERED {
            assert!(
                lower.spec().default <= upper.spec().default,
                "{lower} {upper}"
            );
        }
    }

    #[test]
    fn the_defaults_agree_with_those_of_the_formulas() {
        let policy = Policy::default();
        assert_eq!(policy.press_forces(), PressForces::default());
        assert_eq!(policy.film_limits(), FilmLimits::default());
        assert_eq!(policy.margin_limits(), MarginLimits::default());
    }

    #[test]
    fn only_what_differs_is_kept() {
        let mut policy = Policy::default();
        policy.set(PolicyKey::DotUl, 300).unwrap();
        assert_eq!(policy.value(PolicyKey::DotUl), 300);
        assert_eq!(serde_json::to_string(&policy).unwrap(), r#"{"dot_ul":300}"#);
        policy.set(PolicyKey::DotUl, 250).unwrap();
        assert_eq!(policy, Policy::default());
        policy.put(PolicyKey::DotUl, Some(300));
        policy.put(PolicyKey::DotUl, None);
        assert_eq!(policy, Policy::default());
    }

    #[test]
    fn a_value_out_of_range_is_refused_and_changes_nothing() {
        let mut policy = Policy::default();
        let said = policy.set(PolicyKey::DotUl, 600).unwrap_err().to_string();
        assert_eq!(
            said,
            "dot_ul = 600 is outside 150 to 500 µL; choose a value in that range"
        );
        assert_eq!(policy, Policy::default());
    }

    #[test]
    fn two_limits_never_change_places() {
        let mut policy = Policy::default();
        let said = policy
            .set(PolicyKey::FilmCautionUm, 120)
            .unwrap_err()
            .to_string();
        assert!(
            said.ends_with("above film_ordinary_um at 100; set film_ordinary_um first"),
            "{said}"
        );
        policy.set(PolicyKey::FilmOrdinaryUm, 130).unwrap();
        policy.set(PolicyKey::FilmCautionUm, 120).unwrap();
        assert!(policy.set(PolicyKey::FilmOrdinaryUm, 110).is_err());
    }

    #[test]
    fn a_stored_policy_reads_back_and_an_unknown_key_is_refused() {
        let policy: Policy = serde_json::from_str(r#"{"tired_permille":700}"#).unwrap();
        assert_eq!(
            policy.overrides,
            BTreeMap::from([(PolicyKey::TiredPermille, 700)])
        );
        assert!(serde_json::from_str::<Policy>(r#"{"tyred":700}"#).is_err());
    }
}
