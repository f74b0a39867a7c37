//! The pick: which pieces go into a job.
//!
//! Serves the check, which shows it, and the log, which takes it as what was used, so the two
//! always agree. It looks at the book and must never change it.

mod asked;
mod batteries;
mod both_days;
mod job_pads;
mod pads;
mod reach;
mod step_pads;
mod stock;
mod taken;
mod tools;
mod tools_there;

use fettlebook_quantity::Seconds;
use jiff::SignedDuration;
use jiff::civil::Date;

pub use asked::StepAsked;
pub(crate) use batteries::{BatteryChoice, BatteryOffer, offer_batteries};
pub use job_pads::JobPads;
pub(crate) use pads::added_damage;
pub use pads::{PadBar, PadChoice, PadOffer, offer_pads};
pub use reach::bring_by;
pub(crate) use reach::{Reach, is_away};
pub(crate) use step_pads::PadsAhead;
pub(crate) use stock::{
    Holding, Old, draw_whole, heel_ul, is_old, offer_bottles, offer_bundles, offer_sundries,
};
pub use stock::{draw, is_demotable};
pub(crate) use taken::{clashes, quantity_of};
pub(crate) use tools::{
    PlateChoice, offer_machines, offer_plates, plates_aside, plates_away, plates_of_other_width,
};
pub(crate) use tools_there::offer_tools;

use crate::ground::ids::Place;
use crate::ready::plan::StepPlan;
use crate::trade::job::Job;
use crate::trade::policy::Policy;
use crate::{Book, Moment};

/// The circumstances a pick is made for.
#[derive(Debug, Clone, Copy)]
pub struct Scene<'a> {
    /// The book.
    pub book: &'a Book,
    /// The job.
    pub job: &'a Job,
    /// Where the work is done.
    pub place: &'a Place,
    /// When it starts: kit must be dry by then.
    pub starts_at: Moment,
    /// The local day of the start, for expiry dates.
    pub day: Date,
    /// The local day it ends on: what is past its date by then is not taken.
    pub(crate) last_day: Date,
    /// Offset of local time from UTC at the start, s.
    pub utc_offset_s: i32,
    /// Looking back: the job is done, and kit washed since its start was clean before it.
    pub looking_back: bool,
    /// Now: what can still be washed, moved or bought before the start.
    pub now: Moment,
    /// The last moment to bring kit from elsewhere.
    pub(crate) bring_by: Moment,
}

impl<'a> Scene<'a> {
    /// The scene of a job seen at a moment.
    pub fn of(book: &'a Book, job: &'a Job, now: Moment) -> Self {
        let starts_at = job.next_start();
        let day = job.day_of(starts_at);
        Self {
            book,
            job,
            place: &job.place,
            starts_at,
            day,
            last_day: job.local_days().last().unwrap_or_else(|| job.local_day()),
            utc_offset_s: job.utc_offset_s,
            looking_back: false,
            now,
            bring_by: reach::bring_by_on(book, job, starts_at, day),
        }
    }

    /// The scene of a job that is done, as it was at its start.
    pub fn looking_back(book: &'a Book, job: &'a Job) -> Self {
        Self {
            looking_back: true,
            ..Self::of(book, job, job.starts_at)
        }
    }

    /// The scene of a step of the job, which may be worked on its second day.
    pub(crate) fn of_step(&self, planned: &StepPlan) -> Self {
        let second = self.job.second_day.as_ref();
        let Some(second) = second.filter(|_| planned.second_day) else {
            return *self;
        };
        Self {
            starts_at: second.starts_at,
            day: self.last_day,
            bring_by: reach::bring_by_on(self.book, self.job, second.starts_at, self.last_day),
            ..*self
        }
    }

    /// The policy.
    pub fn policy(&self) -> &'a Policy {
        self.book.policy()
    }
}

/// The last moment to wash so that it is dry by the start; `None` when that has passed.
pub(crate) fn wash_by(scene: &Scene<'_>, dry: Seconds) -> Option<Moment> {
    let by = scene
        .starts_at
        .checked_sub(SignedDuration::from_secs(dry.s()))
        .ok()?;
    (by >= scene.now).then_some(by)
}
