//! Jobs on the wire.
//!
//! It serves reading the diary, and editing, which starts from what is there.

use fettlebook_contract::v1;
use fettlebook_model::job::{Job, JobState};

use super::{moment, seq};
use crate::edge::etag;

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
    };
    shown.etag = etag::of(&shown);
    shown
}
