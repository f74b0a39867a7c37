//! Deeds and entries: what happened, one subject a deed, one command an entry.
//!
//! A deed holds facts as they were reported or decided (times, sections, weights), never an
//! estimate; wear and what is left follow from it when it is applied. The serde form is the
//! journal's format: fields may be added, never renamed.

use std::fmt;
use std::str::FromStr;
use std::sync::Arc;

use fettlebook_quantity::{Area, Length, Mass, Seconds, Volume};
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::Moment;
use crate::book::format::Format;
use crate::ground::ids::{Id, Place, Seq, Subject, Tag};
use crate::trade::film::{OfJob, PanelSpots};
use crate::trade::job::{Car, Job, Routine};
use crate::trade::kept::KeptMark;
use crate::trade::kit::{Inspection, Piece, PieceCost, Readiness, State};
use crate::trade::logged::Logged;
use crate::trade::make::{Grade, Make};
use crate::trade::order::Order;
use crate::trade::panel::Panel;
use crate::trade::policy::{Policy, PolicyKey};
use crate::trade::supplier::Supplier;
use crate::trade::take::{Despite, Picked};
use crate::trade::tally::FIRST_RULES;
use crate::trade::towel::TowelGrade;
use crate::trade::wear::{Action, AsideReason, BinReason, Work, WorkAsk, work_of};

/// First 16 bytes of the SHA-256 of a command's body, to tell a retry from another command.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct BodyHash(pub [u8; 16]);

impl fmt::Display for BodyHash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        Uuid::from_bytes(self.0).simple().fmt(f)
    }
}

impl fmt::Debug for BodyHash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl FromStr for BodyHash {
    type Err = uuid::Error;

    fn from_str(hex: &str) -> Result<Self, uuid::Error> {
        Uuid::try_parse(hex).map(|id| Self(id.into_bytes()))
    }
}

impl Serialize for BodyHash {
    fn serialize<S: serde::Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
        let mut text = Uuid::encode_buffer();
        out.serialize_str(Uuid::from_bytes(self.0).simple().encode_lower(&mut text))
    }
}

impl<'de> Deserialize<'de> for BodyHash {
    fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let text = String::deserialize(from)?;
        text.parse().map_err(serde::de::Error::custom)
    }
}

/// One line of the book: a command that was accepted, and what it did.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Entry {
    /// Number, dense from 1.
    pub seq: Seq,
    /// Its format.
    #[serde(default, skip_serializing_if = "Format::is_first")]
    pub format: Format,
    /// Id of the book that it begins; only the first entry of a book says it, and those of the first
    /// books do not.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub book_id: Option<Uuid>,
    /// When the service recorded it.
    pub recorded_at: Moment,
    /// When it happened, as the person says.
    pub done_at: Moment,
    /// Request id of the command.
    pub request: Uuid,
    /// Hash of the command's body.
    pub body: BodyHash,
    /// Who or what reported it.
    pub by: String,
    /// What happened.
    pub deeds: Vec<Deed>,
    /// What contradicts the book.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub flags: Vec<Flag>,
    /// Anything worth remembering.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// How its device kept it; none for what was sent at once.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kept: Option<KeptMark>,
}

/// Something reported that contradicts the book.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Flag {
    /// What it is about.
    pub subject: Subject,
    /// What contradicts what, a sentence.
    pub text: String,
    /// Whether a count or weigh-in should settle it.
    pub count: bool,
}

/// The state of one subject, as it is kept.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Record {
    /// A piece of kit.
    Piece(Arc<Piece>),
    /// A make.
    Make(Arc<Make>),
    /// A car.
    Car(Arc<Car>),
    /// A routine.
    Routine(Arc<Routine>),
    /// A job.
    Job(Arc<Job>),
    /// A supplier.
    Supplier(Arc<Supplier>),
    /// An order.
    Order(Arc<Order>),
    /// The policies.
    Policy(Arc<Policy>),
    /// An entry that was reversed by the one with this number.
    ReversedBy(Seq),
    /// Was taken back by a reversal. Its tag is not used again, nor its id but for that of a make, car or
    /// routine.
    TakenBack,
}

/// How a pad was worked: the facts its wear follows from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PadWork {
    /// Sections.
    pub section_count: i64,
    /// Time on paint, ms.
    pub time_ms: i64,
    /// Force on the pad, mN.
    pub force_mn: i64,
    /// How the machine moves it.
    pub action: Action,
    /// Diameter of the orbit.
    pub throw_mm: Length,
    /// Machine speed, per minute.
    pub speed_per_min: i64,
    /// Diameter of the pad's face.
    pub face_mm: Length,
    /// Grade of the liquid it carried.
    pub liquid: Grade,
}

impl PadWork {
    /// The wear work of this use.
    pub fn work(&self) -> Work {
        work_of(&WorkAsk {
            face: self.face_mm,
            force_mn: self.force_mn,
            action: self.action,
            throw: self.throw_mm,
            speed_per_min: self.speed_per_min,
            time_ms: self.time_ms,
        })
    }
}

/// The job and step a use belongs to; both empty for a loose use.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Within {
    /// Job.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub job: Option<Id>,
    /// Step.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub step: Option<Id>,
}

/// One thing that happened to one subject.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "did", rename_all = "snake_case")]
#[expect(
    missing_docs,
    reason = "the fields are named by type and unit; each kind says what it is"
)]
#[expect(
    clippy::large_enum_variant,
    reason = "an entry holds a handful of deeds for a moment; boxes would cost each use more than they save"
)]
pub enum Deed {
    /// A make was set up or edited.
    MakeSet { make: Arc<Make> },
    /// A car was set up or edited.
    CarSet { car: Arc<Car> },
    /// The film of a car was read, spot by spot.
    FilmRead {
        car: Id,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        of_job: Option<OfJob>,
        panels: Vec<PanelSpots>,
    },
    /// A routine was set up or edited.
    RoutineSet { routine: Arc<Routine> },
    /// A policy was changed; no value means back to the default.
    PolicySet { key: PolicyKey, value: Option<i64> },
    /// A piece came into the kit in this state.
    Received {
        tag: Tag,
        make: Id,
        place: Place,
        state: State,
        /// How it stood when it came, when it was not ready.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        readiness: Option<Readiness>,
        /// When that was, when not at the entry's time.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at: Option<Moment>,
        /// What it cost, when that is known.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        cost: Option<PieceCost>,
    },
    /// A piece went to another place.
    Moved { tag: Tag, place: Place },
    /// A piece was washed and dries for this long. Of a bundle that others used or counted meanwhile it
    /// says how many soiled towels its device had seen, and just so many were washed.
    Washed {
        tag: Tag,
        dry_s: Seconds,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        soiled_count: Option<i64>,
    },
    /// A piece was found dry.
    Dried { tag: Tag },
    /// A label of a piece was printed.
    Labelled { tag: Tag },
    /// A battery was put on the charger, which takes this long to fill it.
    Charged { tag: Tag, charge_s: Seconds },
    /// A battery ran a job and is empty: so long, `rated_ms` being what a charge of it was rated for then.
    /// `taken_permille` is what the log says was taken of its charge; none where nobody said.
    BatteryUsed {
        tag: Tag,
        #[serde(flatten)]
        within: Within,
        time_ms: i64,
        rated_ms: i64,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        taken_permille: Option<i64>,
    },
    /// A washed pad was looked at.
    Inspected {
        tag: Tag,
        #[serde(flatten)]
        found: Inspection,
    },
    /// A bottle was weighed.
    Weighed {
        tag: Tag,
        gross_mg: Mass,
        tare_mg: Mass,
        density_mg_per_ml: i64,
    },
    /// A bottle was weighed whose tare nobody had said: what is left follows once it is worked out.
    GrossWeighed {
        tag: Tag,
        gross_mg: Mass,
        density_mg_per_ml: i64,
        /// The tare as it was worked out by then, for telling what was left; it counts as the deeds on
        /// the tare stand.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        tare_mg: Option<Mass>,
    },
    /// The tare of a bottle was worked out from the weight of a full one, or said of its make.
    TareFound { tag: Tag, tare_mg: Mass },
    /// A bottle's volume was read off. With what its device had seen of it, it changes the level by
    /// the difference.
    VolumeRead {
        tag: Tag,
        left_ul: Volume,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        seen_ul: Option<Volume>,
    },
    /// A bundle was counted; with what its device had seen of it, clean and soiled, by the
    /// difference. Where `seen_drying` is told, what dried then is among the clean that were counted,
    /// and goes on drying.
    TowelsCounted {
        tag: Tag,
        clean_count: i64,
        soiled_count: i64,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        seen: Option<(i64, i64)>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        seen_drying: Option<i64>,
    },
    /// A sundry was counted; with what its device had seen of it, by the difference.
    SundryCounted {
        tag: Tag,
        left_quantity: i64,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        seen_quantity: Option<i64>,
    },
    /// A piece was set aside.
    SetAside { tag: Tag, reason: AsideReason },
    /// A piece came back from aside; a tool perhaps with the day of its next check, a pad with whether it is
    /// clean.
    Returned {
        tag: Tag,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        check_due_on: Option<Date>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        is_clean: Option<bool>,
    },
    /// A piece left the kit.
    Binned { tag: Tag, reason: BinReason },
    /// Some towels of a bundle left the kit.
    TowelsBinned {
        tag: Tag,
        reason: BinReason,
        count: i64,
    },
    /// A bundle was taken down a grade.
    Demoted { tag: Tag, grade: TowelGrade },
    /// A pad worked.
    PadUsed {
        tag: Tag,
        #[serde(flatten)]
        within: Within,
        #[serde(flatten)]
        work: PadWork,
    },
    /// A pad went along as a spare and did not work.
    TakenAlong {
        tag: Tag,
        #[serde(flatten)]
        within: Within,
        day: Date,
    },
    /// A plate ran, with this many pad changes.
    PlateUsed {
        tag: Tag,
        #[serde(flatten)]
        within: Within,
        time_ms: i64,
        change_count: i64,
    },
    /// A machine ran.
    MachineUsed {
        tag: Tag,
        #[serde(flatten)]
        within: Within,
        time_ms: i64,
    },
    /// Liquid was taken. `stated` is false when the plan's figure was taken as used; `rules` is the
    /// number of those that the plan was made by.
    LiquidUsed {
        tag: Tag,
        #[serde(flatten)]
        within: Within,
        volume_ul: Volume,
        planned_ul: Volume,
        stated: bool,
        #[serde(default = "first_rules", skip_serializing_if = "is_first_rules")]
        rules: u32,
    },
    /// Liquid was poured out of this bottle into another of its make.
    PouredOut {
        tag: Tag,
        into: Tag,
        volume_ul: Volume,
    },
    /// Liquid was poured into this bottle out of another of its make, and so it stands with what is in it: lot,
    /// last day of use, and first opening of whatever of it was opened first.
    PouredIn {
        tag: Tag,
        from: Tag,
        volume_ul: Volume,
        #[serde(default, skip_serializing_if = "String::is_empty")]
        lot: String,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        expiry: Option<Date>,
        opened_at: Moment,
    },
    /// Towels were used; the dropped ones are among the used. The area that they wiped, all steps
    /// together, stands where a person said how many they were.
    TowelsUsed {
        tag: Tag,
        #[serde(flatten)]
        within: Within,
        used_count: i64,
        dropped_count: i64,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        wiped_mm2: Option<Area>,
    },
    /// A sundry was used. What of it the plan of its job was, stands beside it; earlier programs did not say.
    SundryUsed {
        tag: Tag,
        #[serde(flatten)]
        within: Within,
        quantity: i64,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        planned_quantity: Option<i64>,
        /// False when what is likely by the plan was taken as used.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        stated: bool,
    },
    /// A job was booked or edited.
    JobSet { job: Arc<Job> },
    /// A job was done.
    JobDone {
        job: Id,
        left_out: Vec<Panel>,
        /// What its log said of its machines.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        logged: Option<Box<Logged>>,
        /// Who did it, where that is not who was booked.
        #[serde(default, skip_serializing_if = "String::is_empty")]
        person: String,
    },
    /// The first day of a job that takes two was done; its second is to come.
    FirstDayDone {
        job: Id,
        /// What was worked, by the names of the steps and of the shares of them.
        steps: Vec<Id>,
        /// Step that the second day begins with, whatever the plan comes to by then.
        from_step: Id,
        left_out: Vec<Panel>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        logged: Option<Box<Logged>>,
        #[serde(default, skip_serializing_if = "String::is_empty")]
        person: String,
    },
    /// A job was called off.
    JobCalledOff { job: Id },
    /// A pick was taken for a job, with what of the check was passed.
    JobTaken {
        job: Id,
        picked: Vec<Picked>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        despite: Option<Despite>,
    },
    /// What was taken for a job was given back.
    JobReleased { job: Id },
    /// A supplier was set up or edited.
    SupplierSet { supplier: Arc<Supplier> },
    /// An order was written.
    OrderSet { order: Arc<Order> },
    /// A drafted order was sent; the day it is expected.
    OrderPlaced { order: Id, due_on: Date },
    /// No more of an order is expected.
    OrderClosed { order: Id },
    /// Packs of an order came, by make.
    Delivered { order: Id, packs: Vec<(Id, i64)> },
    /// An earlier entry was reversed.
    Reversed { seq: Seq },
    /// A subject's record after a reversal; none: it is taken back.
    Restated {
        subject: Subject,
        record: Option<Record>,
    },
}

/// The rules of the plans that were made before their number was written down.
const fn first_rules() -> u32 {
    FIRST_RULES
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands it over so")]
const fn is_first_rules(rules: &u32) -> bool {
    *rules == FIRST_RULES
}

impl Deed {
    /// Whether it takes back or restates, and is no deed of its own.
    pub(crate) const fn is_restating(&self) -> bool {
        matches!(self, Self::Restated { .. } | Self::Reversed { .. })
    }

    /// The one subject it is about.
    pub fn subject(&self) -> Subject {
        match self {
            Self::MakeSet { make } => Subject::Make(make.id.clone()),
            Self::CarSet { car } => Subject::Car(car.id.clone()),
            Self::FilmRead { car, .. } => Subject::Car(car.clone()),
            Self::RoutineSet { routine } => Subject::Routine(routine.id.clone()),
            Self::PolicySet { .. } => Subject::Policy,
            Self::JobSet { job } => Subject::Job(job.id.clone()),
            Self::JobDone { job, .. }
            | Self::FirstDayDone { job, .. }
            | Self::JobCalledOff { job }
            | Self::JobTaken { job, .. }
            | Self::JobReleased { job } => Subject::Job(job.clone()),
            Self::SupplierSet { supplier } => Subject::Supplier(supplier.id.clone()),
            Self::OrderSet { order } => Subject::Order(order.id.clone()),
            Self::OrderPlaced { order, .. }
            | Self::OrderClosed { order }
            | Self::Delivered { order, .. } => Subject::Order(order.clone()),
            Self::Reversed { seq } => Subject::Entry(*seq),
            Self::Restated { subject, .. } => subject.clone(),
            Self::Received { tag, .. }
            | Self::Moved { tag, .. }
            | Self::Washed { tag, .. }
            | Self::Dried { tag }
            | Self::Labelled { tag }
            | Self::Charged { tag, .. }
            | Self::BatteryUsed { tag, .. }
            | Self::Inspected { tag, .. }
            | Self::TakenAlong { tag, .. }
            | Self::Weighed { tag, .. }
            | Self::GrossWeighed { tag, .. }
            | Self::TareFound { tag, .. }
            | Self::VolumeRead { tag, .. }
            | Self::TowelsCounted { tag, .. }
            | Self::SundryCounted { tag, .. }
            | Self::SetAside { tag, .. }
            | Self::Returned { tag, .. }
            | Self::Binned { tag, .. }
            | Self::TowelsBinned { tag, .. }
            | Self::Demoted { tag, .. }
            | Self::PadUsed { tag, .. }
            | Self::PlateUsed { tag, .. }
            | Self::MachineUsed { tag, .. }
            | Self::LiquidUsed { tag, .. }
            | Self::PouredOut { tag, .. }
            | Self::PouredIn { tag, .. }
            | Self::TowelsUsed { tag, .. }
            | Self::SundryUsed { tag, .. } => Subject::Piece(*tag),
        }
    }

    /// The job and step it belongs to, for a use.
    pub const fn within(&self) -> Option<&Within> {
        match self {
            Self::PadUsed { within, .. }
            | Self::TakenAlong { within, .. }
            | Self::PlateUsed { within, .. }
            | Self::MachineUsed { within, .. }
            | Self::BatteryUsed { within, .. }
            | Self::LiquidUsed { within, .. }
            | Self::TowelsUsed { within, .. }
            | Self::SundryUsed { within, .. } => Some(within),
            _ => None,
        }
    }
}
