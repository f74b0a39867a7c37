//! What a deed does to the job it is about.
//!
//! Serves the records. What was taken for a job and what was logged of its first day follows from its entries, and
//! stays where the job is set anew.

use std::sync::Arc;

use crate::book::change::Stamp;
use crate::book::deed::{Deed, Record};
use crate::trade::job::{FirstDayDone, Job, JobState};
use crate::trade::kept::Told;
use crate::trade::logged::Logged;
use crate::trade::panel::Panel;
use crate::trade::take::{Picked, Take};

/// A job as it was set, with what is not set with it.
pub(super) fn set_job(job: &Arc<Job>, before: Option<Record>, stamp: Stamp<'_>) -> Arc<Job> {
    let mut job = Arc::clone(job);
    let held = Arc::make_mut(&mut job);
    held.last_seq = stamp.seq;
    held.taken = None;
    if let Some(Record::Job(before)) = before {
        held.taken.clone_from(&before.taken);
        held.first_day_done.clone_from(&before.first_day_done);
        if before.first_day_done.is_some() {
            held.logged.clone_from(&before.logged);
        }
    }
    job
}

impl Job {
    /// Takes in what a log says of it, beside what that of its first day said.
    fn hear(&mut self, left_out: &[Panel], logged: Option<&Logged>, person: &str) {
        let before = self.logged.take().filter(|_| self.first_day_done.is_some());
        self.logged = match (before, logged) {
            (Some(before), Some(logged)) => Some(Box::new(before.and(logged))),
            (before, logged) => before.or_else(|| logged.cloned().map(Box::new)),
        };
        if !person.is_empty() {
            person.clone_into(&mut self.person);
        }
        self.left_out = left_out.to_vec();
    }
}

/// A job after a deed that is about it.
pub(super) fn advance_job(mut job: Arc<Job>, deed: &Deed, stamp: Stamp<'_>) -> Arc<Job> {
    let held = Arc::make_mut(&mut job);
    held.last_seq = stamp.seq;
    match deed {
        Deed::JobDone {
            left_out,
            logged,
            person,
            ..
        } => {
            held.state = JobState::Done(stamp.done_at);
            held.hear(left_out, logged.as_deref(), person);
            let (seq, by) = (stamp.seq, stamp.by.into());
            held.done_in = Some(Told { seq, by });
        }
        Deed::FirstDayDone {
            steps,
            from_step,
            left_out,
            logged,
            person,
            ..
        } => {
            held.hear(left_out, logged.as_deref(), person);
            if let Some(second) = &mut held.second_day {
                second.from_step = Some(from_step.clone());
            }
            // What is whole is kept for it no more; what is drawn on may be for both days.
            if let Some(take) = &mut held.taken {
                let is_done = |picked: &Picked| {
                    let step = picked.step.as_ref();
                    picked.quantity == 1 && step.is_some_and(|step| steps.contains(step))
                };
                take.picked.retain(|picked| !is_done(picked));
            }
            let (seq, by) = (stamp.seq, stamp.by.into());
            held.first_day_done = Some(FirstDayDone {
                at: stamp.done_at,
                told: Told { seq, by },
            });
        }
        Deed::JobCalledOff { .. } => held.state = JobState::CalledOff,
        Deed::JobTaken {
            picked, despite, ..
        } => {
            let (seq, by) = (stamp.seq, stamp.by.into());
            held.taken = Some(Box::new(Take {
                picked: picked.clone(),
                despite: despite.clone(),
                told: Told { seq, by },
                at: stamp.done_at,
            }));
        }
        Deed::JobReleased { .. } => held.taken = None,
        _ => {}
    }
    job
}
