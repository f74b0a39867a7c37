//! Cars, routines and jobs: what is worked, how, when and where.
//!
//! These are definitions and diary lines. What a job needs is worked out in the plan, and whether
//! the kit carries it in the check; nothing here looks at the kit.

use fettlebook_quantity::{Area, Length, Ratio, Thickness};
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::Moment;
use crate::ground::ids::{Id, NameError, Place, Seq};
use crate::trade::car::{AreaBasis, CarClass, Dimensions};
use crate::trade::cleaning::Cleaning;
use crate::trade::film::FilmReadings;
use crate::trade::kept::Told;
use crate::trade::logged::{Logged, Ran};
use crate::trade::panel::Panel;
use crate::trade::reach::{Reach, Split};
use crate::trade::take::Take;
use crate::trade::tool::ToolNeed;
use crate::trade::wear::Press;

/// A car, by class and colour.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Car {
    /// Id that a person types.
    pub id: Id,
    /// Class.
    pub class: CarClass,
    /// Anything that tells it from others.
    pub note: String,
    /// Outer dimensions, when they were given.
    pub dimensions: Option<Dimensions>,
    /// What the user said of single panels.
    pub panels: Vec<PanelNote>,
    /// What was read of its film; it follows from its entries, and is not set with it.
    #[serde(default)]
    pub film: FilmReadings,
}

impl Car {
    /// What was said of a panel.
    pub(crate) fn note(&self, panel: Panel) -> Option<&PanelNote> {
        self.panels.iter().find(|note| note.panel == panel)
    }

    /// The reading of a panel's film that a check goes by.
    pub(crate) fn film_of(&self, panel: Panel) -> Option<Thickness> {
        let said = self.note(panel).and_then(|note| note.film_um);
        self.film.judged(panel, said)
    }
}

/// What the user said of one panel.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PanelNote {
    /// Which.
    pub panel: Panel,
    /// Measured area.
    pub area_mm2: Option<Area>,
    /// Not polished: bare plastic, film, glass roof.
    pub left_out: bool,
    /// Lowest film reading, as it was said.
    pub film_um: Option<Thickness>,
    /// Which parts of it take which machine; by the panel when open.
    #[serde(default)]
    pub split: Option<Split>,
}

/// A panel of a car as the model sees it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PanelFacts {
    /// Which.
    pub panel: Panel,
    /// Area.
    pub area: Area,
    /// How the area is known.
    pub basis: AreaBasis,
    /// Not polished.
    pub left_out: bool,
    /// The reading of its film that a check goes by.
    pub film: Option<Thickness>,
    /// Which parts of it take which machine; by the panel when open.
    pub split: Option<Split>,
}

impl PanelFacts {
    /// What of it takes which machine; all of its area together.
    pub(crate) fn parts(&self) -> Vec<(Reach, Area)> {
        match &self.split {
            Some(split) => split.of(self.area).collect(),
            None => vec![(Reach::usual(self.panel), self.area)],
        }
    }
}

/// One step of a routine.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Step {
    /// Short name, unique in the routine.
    pub name: Id,
    /// Machine make; none where the step is done by hand.
    pub machine_make: Option<Id>,
    /// Pad make.
    pub pad_make: Id,
    /// Liquid make.
    pub liquid_make: Id,
    /// Side of a section; by policy when open.
    pub side_mm: Option<Length>,
    /// Overlap of strokes; by policy when open.
    pub overlap_permille: Option<i64>,
    /// Passes over a section; by policy when open.
    pub pass_count: Option<i64>,
    /// Arm speed, mm/s; by policy, machine and grade when open.
    pub arm_speed_mm_per_s: Option<i64>,
    /// Pressure; light on fine work and moderate on coarser when open.
    #[serde(default)]
    pub press: Option<Press>,
    /// Machine speed, per minute; the machine's usual speed when open.
    pub speed_per_min: Option<i64>,
    /// Panels it works; all of the job's when empty.
    pub panels: Vec<Panel>,
    /// Towel make of a wipe-down after it; none when it has none.
    #[serde(default)]
    pub wipe_down_make: Option<Id>,
    /// How its pads are cleaned while it is worked; between panels when open, where a pad brush is at
    /// hand.
    #[serde(default)]
    pub cleaning: Option<Cleaning>,
    /// Further machines, and the hand, that share it with its own.
    #[serde(default)]
    pub shares: Vec<Share>,
    /// Panels that its own machine works whole, whatever they take; only beside others that share it.
    #[serde(default)]
    pub own_panels: Vec<Panel>,
}

/// What a further machine, or the hand, works of a step.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Share {
    /// What it works of each panel.
    pub reach: Reach,
    /// How it works, named for the step and the reach. Its panels are those that it works whole, whatever they
    /// take.
    pub worked: Step,
}

impl Share {
    /// The name by which logs and checks tell a share of a step.
    ///
    /// # Errors
    /// When step and reach together are longer than an id.
    pub fn name_of(step: &Id, reach: Reach) -> Result<Id, NameError> {
        format!("{step}-{reach}").parse()
    }
}

impl Step {
    /// Itself and all that share it.
    pub fn parts(&self) -> impl Iterator<Item = &Self> {
        let shares = self.shares.iter().map(|share| &share.worked);
        std::iter::once(self).chain(shares)
    }

    /// Overlap as a ratio, with the policy's for one left open.
    pub(crate) fn overlap(&self, policy_permille: i64) -> Ratio {
        Ratio::from_permille(self.overlap_permille.unwrap_or(policy_permille))
    }

    /// Whether it is done by hand, with an applicator for a pad.
    pub const fn is_by_hand(&self) -> bool {
        self.machine_make.is_none()
    }

    /// Whether it works this panel.
    pub(crate) fn works(&self, panel: Panel) -> bool {
        self.panels.is_empty() || self.panels.contains(&panel)
    }
}

/// How often each section of a step is worked before the next, in a job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StepSets {
    /// Step of its routine.
    pub step: Id,
    /// Sets a section.
    pub count: i64,
}

/// The second day of a job that takes two.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SecondDay {
    /// When its work goes on.
    pub starts_at: Moment,
    /// The step of its routine that it goes on with; the one that parts the time most evenly when open.
    pub from_step: Option<Id>,
}

/// What a job takes of a sundry make.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SundryNeed {
    /// Make.
    pub make: Id,
    /// For each job, in the make's unit.
    pub per_job_quantity: i64,
    /// Further for each square metre worked, in the make's unit.
    pub per_m2_quantity: i64,
}

/// A named list of steps.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Routine {
    /// Id that a person types.
    pub id: Id,
    /// Name as said.
    pub name: String,
    /// Steps in order.
    pub steps: Vec<Step>,
    /// Towel make for residue; none when the routine uses no towels.
    pub towel_make: Option<Id>,
    /// Towel cells for each section; by policy when open.
    pub cells_per_section: Option<i64>,
    /// Sundries.
    pub sundries: Vec<SundryNeed>,
    /// Tools that are to be there.
    #[serde(default)]
    pub tools: Vec<ToolNeed>,
}

impl Routine {
    /// All its steps, each with what further machines work of it.
    pub fn parts(&self) -> impl Iterator<Item = &Step> {
        self.steps.iter().flat_map(Step::parts)
    }

    /// Every make it names, some more than once.
    pub fn makes(&self) -> impl Iterator<Item = &Id> {
        let steps = self.parts().flat_map(|step| {
            let machine = step.machine_make.iter();
            let towel = step.wipe_down_make.iter();
            machine
                .chain([&step.pad_make, &step.liquid_make])
                .chain(towel)
        });
        let sundries = self.sundries.iter().map(|need| &need.make);
        let tools = self.tools.iter().map(|need| &need.make);
        steps.chain(&self.towel_make).chain(sundries).chain(tools)
    }
}

/// Where a job stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum JobState {
    /// In the diary.
    Booked,
    /// Done and logged at this moment.
    Done(Moment),
    /// Called off.
    CalledOff,
}

impl JobState {
    /// The word as said.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Booked => "booked",
            Self::Done(_) => "done",
            Self::CalledOff => "called off",
        }
    }
}

/// A piece of work in the diary.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Job {
    /// Id that a person types.
    pub id: Id,
    /// Car.
    pub car: Id,
    /// Routine.
    pub routine: Id,
    /// Where the work is done.
    pub place: Place,
    /// When it starts.
    pub starts_at: Moment,
    /// Offset of local time from UTC at the start, s.
    pub utc_offset_s: i32,
    /// Panels left out of this job.
    pub left_out: Vec<Panel>,
    /// Where it stands.
    pub state: JobState,
    /// Anything worth remembering.
    pub note: String,
    /// Last entry that touched it.
    pub last_seq: Seq,
    /// The entry that logged it as done.
    #[serde(default)]
    pub done_in: Option<Told>,
    /// The pick that was taken for it; it follows from its entries, and is not set with it.
    #[serde(default)]
    pub taken: Option<Box<Take>>,
    /// Who works it, as the shop calls that person; empty where nobody is named.
    #[serde(default)]
    pub person: String,
    /// How deep it goes: the sets of each step that gets more than one.
    #[serde(default)]
    pub sets: Vec<StepSets>,
    /// The second day, where it takes two.
    #[serde(default)]
    pub second_day: Option<SecondDay>,
    /// That its first day was logged, where it takes two; it follows from its entries, and is not set with it.
    #[serde(default)]
    pub first_day_done: Option<FirstDayDone>,
    /// What its log said of its machines; it follows from its entries, and is not set with it.
    #[serde(default)]
    pub logged: Option<Box<Logged>>,
}

/// Days of a job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Days {
    /// All it takes.
    All,
    /// The first of two.
    First,
    /// The second of two.
    Second,
}

/// That the first day of a job was logged.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FirstDayDone {
    /// When it was done.
    pub at: Moment,
    /// The entry that logged it.
    pub told: Told,
}

/// How long after its start a job that was taken may stay without a log before it is told, s: two days.
/// Basis: ours.
const UNLOGGED_AFTER_S: i64 = 2 * 86_400;

impl Job {
    /// Sets that a section of a step gets.
    pub(crate) fn sets_of(&self, step: &Id) -> i64 {
        let said = self.sets.iter().find(|sets| sets.step == *step);
        said.map_or(1, |sets| sets.count)
    }

    /// How long the machines of each make ran, where its log says so; of a job that is done.
    pub(crate) fn ran(&self) -> impl Iterator<Item = &Ran> {
        let logged = self
            .logged
            .iter()
            .filter(|_| matches!(self.state, JobState::Done(_)));
        logged.flat_map(|logged| &logged.ran)
    }

    /// Whether it was taken, started two days ago, and is not logged: its kit is kept for nobody.
    pub fn is_left_unlogged(&self, now: Moment) -> bool {
        let last = self.starts().fold(self.starts_at, Moment::max);
        let since = last.as_second().saturating_add(UNLOGGED_AFTER_S);
        self.is_reserving() && now.as_second() >= since
    }

    /// Whether other jobs leave alone what was taken for it.
    pub(crate) fn is_reserving(&self) -> bool {
        self.state == JobState::Booked && self.taken.is_some()
    }

    /// Whether its first day is logged, and its second still to come.
    pub fn has_first_day_behind(&self) -> bool {
        self.state == JobState::Booked && self.first_day_done.is_some()
    }

    /// When the work starts that is to come: on the second day once the first is logged.
    pub fn next_start(&self) -> Moment {
        let second = self.second_day.as_ref();
        let second = second.filter(|_| self.has_first_day_behind());
        second.map_or(self.starts_at, |second| second.starts_at)
    }

    /// The days of work that are to come.
    pub(crate) fn days_to_come(&self) -> Days {
        if self.has_first_day_behind() {
            Days::Second
        } else {
            Days::All
        }
    }

    /// The local day it starts on: the day an expiry date is held against.
    pub(crate) fn local_day(&self) -> Date {
        self.day_of(self.starts_at)
    }

    /// The local days it is worked on: one, or two in order.
    pub(crate) fn local_days(&self) -> impl Iterator<Item = Date> {
        self.starts().map(|start| self.day_of(start))
    }

    /// When its work starts, on each of its days.
    pub fn starts(&self) -> impl Iterator<Item = Moment> {
        let second = self.second_day.as_ref().map(|second| second.starts_at);
        std::iter::once(self.starts_at).chain(second)
    }

    /// Whether it is worked on a local day.
    pub(crate) fn is_on(&self, day: Date) -> bool {
        self.local_days().any(|own| own == day)
    }

    /// The local day of a moment.
    pub(crate) fn day_of(&self, moment: Moment) -> Date {
        let offset =
            jiff::tz::Offset::from_seconds(self.utc_offset_s).unwrap_or(jiff::tz::Offset::UTC);
        offset.to_datetime(moment).date()
    }
}
