//! Jobs from the wire, and which jobs a check is about.
//!
//! It serves the diary and the check.

use std::sync::Arc;

use fettlebook_contract::v1;
use fettlebook_model::job::{Job, JobState, SecondDay, StepSets};
use fettlebook_model::{Book, Command, Id, Moment, Reason, Refusal, Seq};

use super::{id, message, moment, open_id, open_place, panels, place, said};
use crate::edge::status::EdgeError;
use crate::edge::{mask, show};

pub(in crate::edge) fn book(sent: v1::BookJobRequest, _: &Book) -> Result<Command, Refusal> {
    Ok(Command::BookJob {
        job: new_job(message("job", sent.job)?)?,
    })
}

pub(in crate::edge) fn edit(sent: v1::UpdateJobRequest, book: &Book) -> Result<Command, EdgeError> {
    let fields = message("job", sent.job)?;
    let id = id("job.job", &fields.job)?;
    let was = book
        .job(&id)
        .ok_or_else(|| Refusal::no_id(Reason::JobUnknown, "job.job", "job", &id))?;
    let held = show::job::job(was);
    let sent = (&fields, sent.update_mask);
    let job = mask::edited(book, "job", &held, sent, |edited, _| {
        job(edited, was.state, was.last_seq)
    })?;
    Ok(Command::EditJob {
        was: Job::clone(was),
        job,
    })
}

pub(in crate::edge) fn call_off(sent: v1::CallOffJobRequest, _: &Book) -> Result<Command, Refusal> {
    Ok(Command::CallOff {
        job: id("job", &sent.job)?,
        said: said(sent.done_time, sent.note)?,
    })
}

/// A job that is to be booked.
pub(super) fn new_job(sent: v1::Job) -> Result<Job, Refusal> {
    job(sent, JobState::Booked, Seq(0))
}

/// A job. Where it stands is the book's to say.
fn job(sent: v1::Job, state: JobState, last_seq: Seq) -> Result<Job, Refusal> {
    let starts_at = moment("job.start_time", sent.start_time)?
        .ok_or_else(|| Refusal::missing("job.start_time", "Say when it starts."))?;
    let utc_offset_s = utc_offset("job.utc_offset_s", sent.utc_offset_s)?;
    let second_day = second_day(&sent)?;
    Ok(Job {
        id: id("job.job", &sent.job)?,
        car: id("job.car", &sent.car)?,
        routine: id("job.routine", &sent.routine)?,
        place: open_place("job.place", &sent.place)?,
        starts_at,
        utc_offset_s,
        left_out: panels("job.left_out_panels", &sent.left_out_panels)?,
        state,
        note: sent.note,
        last_seq,
        done_in: None,
        taken: None,
        person: sent.person,
        sets: sets(&sent.sets)?,
        second_day,
        first_day_done: None,
        logged: None,
    })
}

/// The second day of a job.
fn second_day(sent: &v1::Job) -> Result<Option<SecondDay>, Refusal> {
    let from_step = open_id("job.second_from_step", &sent.second_from_step)?;
    match (
        moment("job.second_start_time", sent.second_start_time)?,
        from_step,
    ) {
        (Some(starts_at), from_step) => Ok(Some(SecondDay {
            starts_at,
            from_step,
        })),
        (None, None) => Ok(None),
        (None, Some(_)) => Err(Refusal::missing(
            "job.second_start_time",
            "Say when the second day begins, or name no step for it.",
        )),
    }
}

/// How deep its steps go: what is not said gets one set, and one set is not said.
fn sets(sent: &[v1::StepSets]) -> Result<Vec<StepSets>, Refusal> {
    let deep = sent.iter().filter(|sets| sets.set_count != 1);
    let sets = deep.map(|sets| {
        Ok(StepSets {
            step: id("job.sets.step", &sets.step)?,
            count: sets.set_count,
        })
    });
    sets.collect()
}

/// An offset of local time from UTC, s.
pub(super) fn utc_offset(field: &str, sent: i64) -> Result<i32, Refusal> {
    i32::try_from(sent).map_err(|_| {
        Refusal::invalid(
            field,
            "The offset from UTC is more than 18 hours.",
            "Give the offset of local time in seconds.",
        )
    })
}

/// The place of whoever asks where the shop stands; nothing for all of it.
pub(in crate::edge) fn here(sent: &v1::GetTodayRequest) -> Result<Option<Id>, Refusal> {
    place_asked(&sent.place)
}

/// The place that is asked about; nothing for all of the shop.
fn place_asked(said: &str) -> Result<Option<Id>, Refusal> {
    let said = Some(said).filter(|said| !said.is_empty());
    said.map(|said| place("place", said)).transpose()
}

/// Which jobs to check, and which of the checks to answer.
pub(in crate::edge) struct ToCheck {
    /// Jobs that are run through, in order of start.
    pub(in crate::edge) ids: Vec<Id>,
    /// The place whose checks alone are answered; nothing for all.
    pub(in crate::edge) place: Option<Id>,
    /// The shop's next job, where a place was asked about that has none.
    pub(in crate::edge) elsewhere: Option<Id>,
}

/// The jobs to check: those named, else those booked up to a moment, else the next that is still to come, and
/// without one the booked job that began last. None where none is booked.
pub(in crate::edge) fn to_check(
    sent: &v1::CheckJobsRequest,
    book: &Book,
    now: Moment,
) -> Result<ToCheck, Refusal> {
    let all = |ids| ToCheck {
        ids,
        place: None,
        elsewhere: None,
    };
    if !sent.jobs.is_empty() {
        let ids = sent.jobs.iter().map(|job| id("jobs", job));
        return Ok(all(ids.collect::<Result<_, _>>()?));
    }
    let through = moment("through_time", sent.through_time)?;
    let place = place_asked(&sent.place)?;
    if let Some(last) = through {
        let booked = book.booked_jobs().take_while(|job| job.starts_at <= last);
        let ids = booked.map(|job| job.id.clone()).collect();
        return Ok(ToCheck { place, ..all(ids) });
    }
    let next = next_job(book, place.as_ref(), now);
    let elsewhere = match (&next, &place) {
        (None, Some(_)) => next_job(book, None, now),
        _ => None,
    };
    Ok(ToCheck {
        ids: next.into_iter().collect(),
        place,
        elsewhere,
    })
}

/// The next job that is still to come, of a place or of the whole shop, and without one the booked job that
/// began last.
fn next_job(book: &Book, place: Option<&Id>, now: Moment) -> Option<Id> {
    let is_there = |job: &&Arc<Job>| place.is_none_or(|place| job.place == *place);
    let booked = book.booked_jobs().filter(is_there);
    let (begun, to_come): (Vec<_>, Vec<_>) = booked.partition(|job| job.starts_at < now);
    let next = to_come.first().or(begun.last());
    next.map(|job| job.id.clone())
}

/// The routine that the one job of a check might be worked by besides.
pub(in crate::edge) fn or_routine(
    sent: &v1::CheckJobsRequest,
) -> Result<Option<(Id, Id)>, Refusal> {
    let Some(routine) = open_id("or_routine", &sent.or_routine)? else {
        return Ok(None);
    };
    match sent.jobs.as_slice() {
        [job] => Ok(Some((id("jobs", job)?, routine))),
        _ => Err(Refusal::invalid(
            "or_routine",
            "Another routine is checked for one job that is named.",
            "Name the job, and no other.",
        )),
    }
}

/// Which jobs a list is to hold, beside how they stand.
pub(in crate::edge) struct Listed {
    from: Option<Moment>,
    before: Option<Moment>,
    place: Option<Id>,
    car: Option<Id>,
    person: String,
}

/// What a list is asked for.
pub(in crate::edge) fn listed(sent: &v1::ListJobsRequest) -> Result<Listed, Refusal> {
    Ok(Listed {
        from: moment("from_time", sent.from_time)?,
        before: moment("before_time", sent.before_time)?,
        place: open_id("place", &sent.place)?,
        car: open_id("car", &sent.car)?,
        person: sent.person.clone(),
    })
}

impl Listed {
    /// Whether a list is to hold a job.
    pub(in crate::edge) fn takes(&self, job: &Job) -> bool {
        let is_within = |start: Moment| {
            self.from.is_none_or(|from| start >= from)
                && self.before.is_none_or(|before| start < before)
        };
        job.starts().any(is_within)
            && self.place.as_ref().is_none_or(|place| job.place == *place)
            && self.car.as_ref().is_none_or(|car| job.car == *car)
            && (self.person.is_empty() || job.person == self.person)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use fettlebook_model::panel::Panel;

    #[test]
    fn a_job_comes_back_from_the_wire_as_it_was() {
        let held = Job {
            id: "saloon-thursday".parse().unwrap(),
            car: "medium-saloon-silver".parse().unwrap(),
            routine: "two-step".parse().unwrap(),
            place: "van-a".parse().unwrap(),
            starts_at: "2026-06-04T06:00:00Z".parse().unwrap(),
            utc_offset_s: 7_200,
            left_out: vec![Panel::Roof],
            state: JobState::Booked,
            note: "bring the ladder".to_owned(),
            last_seq: Seq(7),
            done_in: None,
            taken: None,
            person: "the owner".to_owned(),
            sets: vec![StepSets {
                step: "cut".parse().unwrap(),
                count: 2,
            }],
            second_day: Some(SecondDay {
                starts_at: "2026-06-05T06:00:00Z".parse().unwrap(),
                from_step: Some("finish".parse().unwrap()),
            }),
            first_day_done: None,
            logged: None,
        };
        assert_eq!(
            job(show::job::job(&held), held.state, held.last_seq),
            Ok(held)
        );
    }

    #[test]
    fn a_job_without_a_start_is_refused_and_without_a_place_is_at_the_bench() {
        let sent = v1::Job {
            job: "j".to_owned(),
            car: "c".to_owned(),
            routine: "r".to_owned(),
            start_time: Some(prost_types::Timestamp::default()),
            ..v1::Job::default()
        };
        let booked = job(sent.clone(), JobState::Booked, Seq(0)).unwrap();
        assert_eq!(booked.place.as_str(), "bench");
        let timeless = v1::Job {
            start_time: None,
            ..sent
        };
        assert_eq!(
            job(timeless, JobState::Booked, Seq(0)).unwrap_err().field,
            "job.start_time"
        );
    }
}
