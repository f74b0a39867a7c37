//! Jobs on the wire.
//!
//! It serves reading the diary, and editing, which starts from what is there.

use fettlebook_contract::v1;
use fettlebook_model::Moment;
use fettlebook_model::job::{Job, JobState, StepSets};

use super::{moment, seq, take};
use crate::edge::etag;

/// A job as it stands at a moment.
pub(in crate::edge) fn job_at(held: &Job, now: Moment) -> v1::Job {
    v1::Job {
        taken: take::taken(held, now),
        ..job(held)
    }
}

/// A job without what was taken for it.
pub(in crate::edge) fn job(job: &Job) -> v1::Job {
    let (state, done_at) = match job.state {
        JobState::Booked => (v1::JobState::Booked, None),
        JobState::Done(at) => (v1::JobState::Done, Some(at)),
        JobState::CalledOff => (v1::JobState::CalledOff, None),
    };
    let mut shown = v1::Job {
        etag: String::new(),
        job: job.id.to_string(),
        car: job.car.to_string(),
        routine: job.routine.to_string(),
        place: job.place.to_string(),
        start_time: Some(moment(job.starts_at)),
        utc_offset_s: i64::from(job.utc_offset_s),
        left_out_panels: job.left_out.iter().map(ToString::to_string).collect(),
        state: state.into(),
        note: job.note.clone(),
        last_seq: seq(job.last_seq),
        done_time: done_at.map(moment),
        taken: None,
        person: job.person.clone(),
        sets: job.sets.iter().map(sets).collect(),
        second_start_time: job
            .second_day
            .as_ref()
            .map(|second| moment(second.starts_at)),
        second_from_step: (job.second_day.as_ref())
            .and_then(|second| second.from_step.as_ref())
            .map(ToString::to_string)
            .unwrap_or_default(),
        first_day_done_time: job.first_day_done.as_ref().map(|done| moment(done.at)),
    };
    shown.etag = etag::of(&shown);
    shown
}

fn sets(sets: &StepSets) -> v1::StepSets {
    v1::StepSets {
        step: sets.step.to_string(),
        set_count: sets.count,
    }
}
