//! The figures of a make that the policy gives where nobody says them, and which of a make's are such.

use fettlebook_quantity::Seconds;
use serde::{Deserialize, Serialize};

use super::{Figures, Grade, Make, PadFigures, PadMaterial};
use crate::trade::policy::{Policy, PolicyKey};

/// A figure that the policy gives where nobody says it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FilledFigure {
    /// Rated work of a pad, reference sections.
    RatedWorkSections,
    /// Rated washes of a pad.
    RatedWashCount,
    /// Sections a pad works before it is changed.
    LoadSections,
    /// Drying time of a pad or of towels, s.
    DryTimeS,
    /// Rated running time of a plate, h.
    RatedRunH,
    /// Rated pad changes of a plate.
    RatedChangeCount,
    /// Washes from which towels are inspected.
    InspectWashCount,
    /// Washes from which towels go down a grade.
    DemoteWashCount,
    /// Density of a liquid, mg/mL.
    DensityMgPerMl,
    /// Time the charger takes to fill a battery, s.
    ChargeTimeS,
    /// Rated charges of a battery.
    RatedChargeCount,
}

impl FilledFigure {
    /// Its name among the figures of its sort, as the contract has it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::RatedWorkSections => "rated_work_sections",
            Self::RatedWashCount => "rated_wash_count",
            Self::LoadSections => "load_sections",
            Self::DryTimeS => "dry_time_s",
            Self::RatedRunH => "rated_run_h",
            Self::RatedChangeCount => "rated_change_count",
            Self::InspectWashCount => "inspect_wash_count",
            Self::DemoteWashCount => "demote_wash_count",
            Self::DensityMgPerMl => "density_mg_per_ml",
            Self::ChargeTimeS => "charge_time_s",
            Self::RatedChargeCount => "rated_charge_count",
        }
    }
}

/// A figure that a make has from the policy.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FromPolicy {
    /// Which.
    pub figure: FilledFigure,
    /// The policy it is from.
    pub key: PolicyKey,
    /// What the make has.
    pub value: i64,
    /// What the policy gives today.
    pub policy_value: i64,
}

impl Make {
    /// The make with every rating that was left open filled from the policy, and a note of which they
    /// are beside those it says already.
    #[must_use]
    pub(crate) fn filled(mut self, policy: &Policy) -> Self {
        let mut filled = self.filled.take().unwrap_or_default();
        for (figure, key) in self.figures.filled_by() {
            if self.figures.number(figure).is_none() {
                self.figures.fill(figure, policy.value(key));
                filled.push(figure);
            }
        }
        filled.sort_unstable();
        filled.dedup();
        self.filled = Some(filled);
        self
    }

    /// The figures it has from the policy, with what that gives today. In a make of the time before this
    /// was written down those count that equal the default of that time.
    pub fn from_policy(&self, policy: &Policy) -> Vec<FromPolicy> {
        let is_filled = |figure, key, value| match &self.filled {
            Some(filled) => filled.contains(&figure),
            None => value == default_before(key),
        };
        let known = self.figures.filled_by().into_iter();
        let known = known.filter_map(|(figure, key)| {
            let value = self.figures.number(figure)?;
            is_filled(figure, key, value).then(|| FromPolicy {
                figure,
                key,
                value,
                policy_value: policy.value(key),
            })
        });
        known.collect()
    }

    /// This edit of a make, with what is still from the policy: what was, where it has the same value and
    /// the edit does not say that it is given.
    #[must_use]
    pub(crate) fn edited_from(mut self, held: &Self, policy: &Policy) -> Self {
        let said = self.filled.take();
        let was = held.from_policy(policy).into_iter();
        let still = was
            .filter(|from| self.figures.number(from.figure) == Some(from.value))
            .map(|from| from.figure)
            .filter(|figure| said.as_ref().is_none_or(|said| said.contains(figure)));
        self.filled = Some(still.collect());
        self
    }
}

/// The default of a policy as it was before makes said which figures are from it.
const fn default_before(key: PolicyKey) -> i64 {
    match key {
        PolicyKey::RatingCoarseFoamSections => 130,
        PolicyKey::RatingCoarseFoamWashes => 20,
        PolicyKey::RatingMediumFoamSections => 120,
        PolicyKey::RatingMediumFoamWashes => 25,
        PolicyKey::RatingFineFoamSections => 110,
        PolicyKey::RatingFineFoamWashes => 30,
        PolicyKey::RatingMicrofibreSections => 55,
        PolicyKey::RatingMicrofibreWashes => 10,
        PolicyKey::RatingWoolSections => 150,
        PolicyKey::RatingWoolWashes => 15,
        key => key.spec().default,
    }
}

impl Figures {
    /// The figures of its sort that the policy gives, each with its key.
    fn filled_by(&self) -> Vec<(FilledFigure, PolicyKey)> {
        match self {
            Self::Pad(pad) => pad.filled_by().to_vec(),
            Self::Plate(_) => vec![
                (FilledFigure::RatedRunH, PolicyKey::PlateRatedHours),
                (FilledFigure::RatedChangeCount, PolicyKey::PlateRatedChanges),
            ],
            Self::Towel(_) => vec![
                (
                    FilledFigure::InspectWashCount,
                    PolicyKey::TowelInspectWashes,
                ),
                (FilledFigure::DemoteWashCount, PolicyKey::TowelDemoteWashes),
                (FilledFigure::DryTimeS, PolicyKey::DryTowelS),
            ],
            Self::Liquid(liquid) => vec![(FilledFigure::DensityMgPerMl, liquid.density_key())],
            Self::Battery(_) => vec![
                (FilledFigure::ChargeTimeS, PolicyKey::BatteryChargeTimeS),
                (
                    FilledFigure::RatedChargeCount,
                    PolicyKey::BatteryRatedCharges,
                ),
            ],
            Self::Machine(_) | Self::Sundry(_) | Self::Tool(_) => Vec::new(),
        }
    }

    /// A figure as a number in its unit; none where it is open or of another sort.
    fn number(&self, figure: FilledFigure) -> Option<i64> {
        match (self, figure) {
            (Self::Pad(pad), FilledFigure::RatedWorkSections) => pad.rated_work_sections,
            (Self::Pad(pad), FilledFigure::RatedWashCount) => pad.rated_wash_count,
            (Self::Pad(pad), FilledFigure::LoadSections) => pad.load_sections,
            (Self::Pad(pad), FilledFigure::DryTimeS) => pad.dry_time_s.map(Seconds::s),
            (Self::Plate(plate), FilledFigure::RatedRunH) => plate.rated_run_h,
            (Self::Plate(plate), FilledFigure::RatedChangeCount) => plate.rated_change_count,
            (Self::Towel(towel), FilledFigure::InspectWashCount) => towel.inspect_wash_count,
            (Self::Towel(towel), FilledFigure::DemoteWashCount) => towel.demote_wash_count,
            (Self::Towel(towel), FilledFigure::DryTimeS) => towel.dry_time_s.map(Seconds::s),
            (Self::Liquid(liquid), FilledFigure::DensityMgPerMl) => liquid.density_mg_per_ml,
            (Self::Battery(battery), FilledFigure::ChargeTimeS) => {
                battery.charge_time_s.map(Seconds::s)
            }
            (Self::Battery(battery), FilledFigure::RatedChargeCount) => battery.rated_charge_count,
            _ => None,
        }
    }

    /// Puts a figure of its sort.
    fn fill(&mut self, figure: FilledFigure, value: i64) {
        match (self, figure) {
            (Self::Pad(pad), FilledFigure::RatedWorkSections) => {
                pad.rated_work_sections = Some(value);
            }
            (Self::Pad(pad), FilledFigure::RatedWashCount) => pad.rated_wash_count = Some(value),
            (Self::Pad(pad), FilledFigure::LoadSections) => pad.load_sections = Some(value),
            (Self::Pad(pad), FilledFigure::DryTimeS) => {
                pad.dry_time_s = Some(Seconds::from_s(value));
            }
            (Self::Plate(plate), FilledFigure::RatedRunH) => plate.rated_run_h = Some(value),
            (Self::Plate(plate), FilledFigure::RatedChangeCount) => {
                plate.rated_change_count = Some(value);
            }
            (Self::Towel(towel), FilledFigure::InspectWashCount) => {
                towel.inspect_wash_count = Some(value);
            }
            (Self::Towel(towel), FilledFigure::DemoteWashCount) => {
                towel.demote_wash_count = Some(value);
            }
            (Self::Towel(towel), FilledFigure::DryTimeS) => {
                towel.dry_time_s = Some(Seconds::from_s(value));
            }
            (Self::Liquid(liquid), FilledFigure::DensityMgPerMl) => {
                liquid.density_mg_per_ml = Some(value);
            }
            (Self::Battery(battery), FilledFigure::ChargeTimeS) => {
                battery.charge_time_s = Some(Seconds::from_s(value));
            }
            (Self::Battery(battery), FilledFigure::RatedChargeCount) => {
                battery.rated_charge_count = Some(value);
            }
            _ => {}
        }
    }
}

impl PadFigures {
    /// Policy keys of rated work, rated washes, load and drying time.
    const fn filled_by(&self) -> [(FilledFigure, PolicyKey); 4] {
        let [work, washes, load] = self.rating_keys();
        let dry = match self.material {
            PadMaterial::ThinFoam => PolicyKey::DryThinFoamS,
            PadMaterial::ThickFoam => PolicyKey::DryThickFoamS,
            PadMaterial::Microfibre => PolicyKey::DryMicrofibreS,
            PadMaterial::Wool => PolicyKey::DryWoolS,
            PadMaterial::Applicator => PolicyKey::DryApplicatorS,
        };
        [
            (FilledFigure::RatedWorkSections, work),
            (FilledFigure::RatedWashCount, washes),
            (FilledFigure::LoadSections, load),
            (FilledFigure::DryTimeS, dry),
        ]
    }

    /// Policy keys of rated work, rated washes and load.
    const fn rating_keys(&self) -> [PolicyKey; 3] {
        match (self.material, self.grade) {
            (PadMaterial::Microfibre, _) => [
                PolicyKey::RatingMicrofibreSections,
                PolicyKey::RatingMicrofibreWashes,
                PolicyKey::LoadMicrofibreSections,
            ],
            (PadMaterial::Wool, _) => [
                PolicyKey::RatingWoolSections,
                PolicyKey::RatingWoolWashes,
                PolicyKey::LoadWoolSections,
            ],
            (PadMaterial::Applicator, _) => [
                PolicyKey::RatingApplicatorSections,
                PolicyKey::RatingApplicatorWashes,
                PolicyKey::LoadApplicatorSections,
            ],
            (PadMaterial::ThinFoam | PadMaterial::ThickFoam, Grade::Coarse) => [
                PolicyKey::RatingCoarseFoamSections,
                PolicyKey::RatingCoarseFoamWashes,
                PolicyKey::LoadCoarseFoamSections,
            ],
            (PadMaterial::ThinFoam | PadMaterial::ThickFoam, Grade::Medium) => [
                PolicyKey::RatingMediumFoamSections,
                PolicyKey::RatingMediumFoamWashes,
                PolicyKey::LoadMediumFoamSections,
            ],
            (PadMaterial::ThinFoam | PadMaterial::ThickFoam, Grade::Fine) => [
                PolicyKey::RatingFineFoamSections,
                PolicyKey::RatingFineFoamWashes,
                PolicyKey::LoadFineFoamSections,
            ],
        }
    }
}
