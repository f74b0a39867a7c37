//! A job that is logged before the day it is booked for.
//!
//! It is recorded, for what happened has happened; but more often the wrong job was named.

use jiff::fmt::strtime;

use crate::Moment;
use crate::book::deed::Flag;
use crate::ground::ids::Subject;
use crate::trade::job::Job;

/// The flag of a log that tells of a day before that of the job; none on its day and after it.
pub(super) fn early(job: &Job, done_at: Moment) -> Option<Flag> {
    let (done_on, booked_for) = (job.day_of(done_at), job.day_of(job.starts_at));
    let day = |day| strtime::format("%a %-d %b %Y", day).unwrap_or_default();
    (done_on < booked_for).then(|| Flag {
        subject: Subject::Job(job.id.clone()),
        text: format!(
            "{} is booked for {}, and said to be done on {}. See that no other job was meant.",
            job.id,
            day(booked_for),
            day(done_on)
        ),
        count: false,
    })
}
