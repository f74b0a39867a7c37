//! The format of entries: which of them this program reads, and how it tells an entry of a later
//! program from one that is spoilt.
//!
//! A format may grow without its number: an entry may have members that this program does not know. A
//! kind of deed that it does not know, or a number that it does not read, is of a later program: its
//! book must not be written to, for what follows from that entry is not known here.

use std::fmt;
use std::num::NonZeroU32;

use serde::{Deserialize, Serialize};

use crate::book::deed::{Deed, Entry, Record};
use crate::ground::ids::shown;
use crate::trade::job::{Car, Job, Routine, Step};
use crate::trade::kit::State;
use crate::trade::make::{Figures, Make, PadMaterial};
use crate::trade::policy::PolicyKey;

/// Number of the format of an entry. Entries do not say the first, so that theirs are the bytes they
/// always were.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Format(NonZeroU32);

impl Format {
    /// The format of an entry that names none.
    pub const FIRST: Self = Self(NonZeroU32::MIN);

    /// The format of an entry with a word that programs of the first do not know.
    const SECOND: Self = Self(NonZeroU32::MIN.saturating_add(1));

    /// The format of an entry that changes a level from before something that the book had already, which to
    /// programs of the second comes to something else; with a word that they do not know; or with a job that
    /// names who works it.
    const THIRD: Self = Self(NonZeroU32::MIN.saturating_add(2));

    /// The format of an entry with a step that several machines share, a panel of which several work parts, a
    /// job of more sets or days than one, a battery, readings of film, or what a log says of a job's machines or of
    /// who did it, which programs of the third do not know.
    const FOURTH: Self = Self(NonZeroU32::MIN.saturating_add(3));

    /// The newest format that this program reads. It reads every one from the first to this.
    pub const NEWEST: Self = Self::FOURTH;

    /// The format that an entry with these deeds needs, which may come late to a level: the earliest whose
    /// programs understand it.
    pub fn of(deeds: &[Deed], comes_late: bool) -> Self {
        if deeds.iter().any(is_of_fourth) {
            Self::FOURTH
        } else if comes_late || deeds.iter().any(is_of_third) {
            Self::THIRD
        } else if deeds.iter().any(is_of_second) {
            Self::SECOND
        } else {
            Self::FIRST
        }
    }

    /// Its number, for people.
    pub const fn number(self) -> u32 {
        self.0.get()
    }

    /// True for the format that entries do not say.
    pub(crate) fn is_first(&self) -> bool {
        *self == Self::FIRST
    }
}

impl Default for Format {
    fn default() -> Self {
        Self::FIRST
    }
}

impl fmt::Display for Format {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// Policy keys that programs of the first format do not know.
const KEYS_OF_SECOND: [PolicyKey; 19] = [
    PolicyKey::JobTimePermille,
    PolicyKey::TowelFolds,
    PolicyKey::TowelSideMm2,
    PolicyKey::MarginCloseMm,
    PolicyKey::LivesHalvePads,
    PolicyKey::HandMinutesPerM2,
    PolicyKey::LoadApplicatorSections,
    PolicyKey::RatingApplicatorSections,
    PolicyKey::RatingApplicatorWashes,
    PolicyKey::DryApplicatorS,
    PolicyKey::TaxMilliPercent,
    PolicyKey::OpenedKeepsDays,
    PolicyKey::HeelPermille,
    PolicyKey::ArmSpeedCoarseMmPerS,
    PolicyKey::ArmSpeedMediumMmPerS,
    PolicyKey::ArmSpeedFineMmPerS,
    PolicyKey::ArmSpeedSpotMmPerS,
    PolicyKey::LoadCleanedPanelsPermille,
    PolicyKey::LoadCleanedSectionsPermille,
];

/// Policy keys that programs of the second format do not know.
const KEYS_OF_THIRD: [PolicyKey; 1] = [PolicyKey::BringTimeS];

/// Policy keys that programs of the third format do not know.
const KEYS_OF_FOURTH: [PolicyKey; 5] = [
    PolicyKey::LabourRateMilli,
    PolicyKey::BatteryReservePermille,
    PolicyKey::BatteryChargeTimeS,
    PolicyKey::BatteryRatedCharges,
    PolicyKey::BatteryKeepsPermille,
];

/// Whether programs of the third format would not understand a deed, or would set a record without what it
/// says.
fn is_of_fourth(deed: &Deed) -> bool {
    let is_battery_make = |make: &Make| match &make.figures {
        Figures::Battery(_) => true,
        Figures::Machine(machine) => machine.cordless,
        _ => false,
    };
    match deed {
        Deed::RoutineSet { routine } => is_shared(routine),
        Deed::CarSet { car } => is_split(car),
        Deed::FilmRead { .. } => true,
        Deed::JobSet { job } => is_planned_otherwise(job),
        Deed::PolicySet { key, .. } => KEYS_OF_FOURTH.contains(key),
        Deed::MakeSet { make } => is_battery_make(make),
        Deed::Received { state, .. } => matches!(state, State::Battery(_)),
        Deed::Charged { .. } | Deed::BatteryUsed { .. } => true,
        Deed::FirstDayDone { .. } => true,
        Deed::JobDone { logged, person, .. } => logged.is_some() || !person.is_empty(),
        Deed::Restated {
            record: Some(record),
            ..
        } => match record {
            Record::Routine(routine) => is_shared(routine),
            Record::Car(car) => is_split(car) || car.film.sets().next().is_some(),
            Record::Policy(policy) => policy
                .overrides()
                .any(|(key, _)| KEYS_OF_FOURTH.contains(&key)),
            Record::Make(make) => is_battery_make(make),
            Record::Piece(piece) => matches!(piece.state, State::Battery(_)),
            Record::Job(job) => is_planned_otherwise(job) || job.logged.is_some(),
            _ => false,
        },
        _ => false,
    }
}

fn is_planned_otherwise(job: &Job) -> bool {
    !job.sets.is_empty() || job.second_day.is_some()
}

fn is_shared(routine: &Routine) -> bool {
    routine.steps.iter().any(|step| !step.shares.is_empty())
}

fn is_split(car: &Car) -> bool {
    car.panels.iter().any(|note| note.split.is_some())
}

/// Whether programs of the second format would not understand a deed, or would set a record without what it
/// says.
fn is_of_third(deed: &Deed) -> bool {
    match deed {
        Deed::PolicySet { key, .. } => KEYS_OF_THIRD.contains(key),
        Deed::JobSet { job } => !job.person.is_empty(),
        Deed::Restated {
            record: Some(record),
            ..
        } => match record {
            Record::Policy(policy) => policy
                .overrides()
                .any(|(key, _)| KEYS_OF_THIRD.contains(&key)),
            Record::Job(job) => !job.person.is_empty(),
            _ => false,
        },
        _ => false,
    }
}

/// Whether programs of the first format would not understand a deed.
fn is_of_second(deed: &Deed) -> bool {
    match deed {
        Deed::PolicySet { key, value } => KEYS_OF_SECOND.contains(key) || no_speed(*key, *value),
        // These change what the same counts come to.
        Deed::Washed { soiled_count, .. } => soiled_count.is_some(),
        Deed::TowelsCounted { seen_drying, .. } => seen_drying.is_some(),
        Deed::Returned { is_clean, .. } => *is_clean == Some(true),
        Deed::MakeSet { make } => is_new_make(make),
        Deed::RoutineSet { routine } => is_new_routine(routine),
        Deed::Received { state, .. } => matches!(state, State::Tool(_)),
        Deed::Restated {
            record: Some(record),
            ..
        } => match record {
            Record::Policy(policy) => policy
                .overrides()
                .any(|(key, value)| KEYS_OF_SECOND.contains(&key) || no_speed(key, Some(value))),
            Record::Make(make) => is_new_make(make),
            Record::Routine(routine) => is_new_routine(routine),
            Record::Piece(piece) => matches!(piece.state, State::Tool(_)),
            _ => false,
        },
        _ => false,
    }
}

/// Every kind of deed that this program knows, as `did` names it.
pub const DEED_KINDS: [&str; 46] = [
    "make_set",
    "car_set",
    "film_read",
    "routine_set",
    "policy_set",
    "received",
    "moved",
    "washed",
    "dried",
    "labelled",
    "charged",
    "battery_used",
    "inspected",
    "weighed",
    "gross_weighed",
    "tare_found",
    "volume_read",
    "towels_counted",
    "sundry_counted",
    "set_aside",
    "returned",
    "binned",
    "towels_binned",
    "demoted",
    "pad_used",
    "taken_along",
    "plate_used",
    "machine_used",
    "liquid_used",
    "poured_out",
    "poured_in",
    "towels_used",
    "sundry_used",
    "job_set",
    "job_done",
    "first_day_done",
    "job_called_off",
    "job_taken",
    "job_released",
    "supplier_set",
    "order_set",
    "order_placed",
    "order_closed",
    "delivered",
    "reversed",
    "restated",
];

/// Whether a policy says a speed of the arm that programs of the first format cannot plan with.
fn no_speed(key: PolicyKey, value: Option<i64>) -> bool {
    const LEAST_MM_PER_S: i64 = 5;
    key == PolicyKey::ArmSpeedMmPerS && value.is_some_and(|value| value < LEAST_MM_PER_S)
}

fn is_new_make(make: &Make) -> bool {
    // A program that does not know which figures are from the policy would set it without.
    let says_filled = make.filled.as_ref().is_some_and(|list| !list.is_empty());
    says_filled
        || match &make.figures {
            Figures::Tool(_) => true,
            Figures::Pad(pad) => pad.material == PadMaterial::Applicator,
            _ => false,
        }
}

fn is_new_routine(routine: &Routine) -> bool {
    let is_new = |step: &Step| {
        let says_more = step.wipe_down_make.is_some() || step.cleaning.is_some();
        step.is_by_hand() || says_more || step.press.is_none()
    };
    !routine.tools.is_empty() || routine.parts().any(is_new)
}

/// Why the bytes of an entry are not read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Unread {
    /// A later program wrote it, in a format of its own.
    #[error(
        "was written by a later fettle, in format {0}, and this one reads up to format {newest}: update this one",
        newest = Format::NEWEST
    )]
    NewerFormat(Format),
    /// A later program wrote it, of a kind of deed of its own.
    #[error(
        "was written by a later fettle, with a deed that this one does not know ({0}): update this one"
    )]
    NewerDeed(String),
    /// It is no entry.
    #[error("cannot be read: {0}")]
    Spoilt(String),
}

impl Unread {
    /// True when a later program reads it.
    pub const fn is_newer(&self) -> bool {
        matches!(self, Self::NewerFormat(_) | Self::NewerDeed(_))
    }
}

/// What is read of an entry whose deeds are not understood.
#[derive(Deserialize)]
struct Numbered {
    #[serde(default)]
    format: Format,
}

/// What is read of deeds that are not understood.
#[derive(Deserialize)]
struct Kinds {
    deeds: Vec<Kind>,
}

/// What is read of a deed that is not understood.
#[derive(Deserialize)]
struct Kind {
    did: String,
}

impl Entry {
    /// Reads the bytes of an entry object, which must be the ones that were written.
    ///
    /// # Errors
    /// Why they are not read; as the rest of a sentence about the entry.
    pub fn read(bytes: &[u8]) -> Result<Self, Unread> {
        match serde_json::from_slice::<Self>(bytes) {
            Ok(entry) if entry.format <= Format::NEWEST => Ok(entry),
            Ok(entry) => Err(Unread::NewerFormat(entry.format)),
            Err(error) => Err(newer(bytes).unwrap_or_else(|| Unread::Spoilt(error.to_string()))),
        }
    }
}

/// What shows that a later program wrote an entry that is not understood; none where nothing does.
fn newer(bytes: &[u8]) -> Option<Unread> {
    let Numbered { format } = serde_json::from_slice(bytes).ok()?;
    if format > Format::NEWEST {
        return Some(Unread::NewerFormat(format));
    }
    let Kinds { deeds } = serde_json::from_slice(bytes).ok()?;
    let unknown = deeds
        .into_iter()
        .find(|deed| !DEED_KINDS.contains(&deed.did.as_str()))?;
    Some(Unread::NewerDeed(shown(&unknown.did)))
}
