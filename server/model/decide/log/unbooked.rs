//! The log of a car that nobody booked: its job comes into the book with it.
//!
//! Serves whoever did a car that walked in. It is a job like any other from then on, and is taken back with
//! its log.

use super::{Decision, log_booked};
use crate::book::change::Stamp;
use crate::book::command::{JobLog, Unbooked, UnbookedCar};
use crate::book::deed::Deed;
use crate::decide::define::free;
use crate::ground::ids::Seq;
use crate::ground::ids::{Id, Subject};
use crate::ground::refusal::{Reason, Refusal};
use crate::trade::film::FilmReadings;
use crate::trade::job::{Car, Job, JobState};
use crate::{Book, Moment};

pub(super) fn log_unbooked(
    book: &Book,
    log: &JobLog,
    unbooked: &Unbooked,
    id: &Id,
    now: Moment,
) -> Result<Decision, Refusal> {
    free(book, "job", id, Subject::Job)?;
    if book.routine(&unbooked.routine).is_none() {
        let (reason, field) = (Reason::RoutineUnknown, "unbooked.routine");
        return Err(Refusal::no_id(reason, field, "routine", &unbooked.routine));
    }
    let done_at = Decision::of(&log.said, now)?.done_at;
    let mut first = Vec::new();
    let car = match &unbooked.car {
        UnbookedCar::Known(car) if book.car(car).is_none() => {
            return Err(Refusal::no_id(
                Reason::CarUnknown,
                "unbooked.car",
                "car",
                car,
            ));
        }
        UnbookedCar::Known(car) => car.clone(),
        UnbookedCar::OfClass(class) => {
            free(book, "job", id, Subject::Car)?;
            let car = Car {
                id: id.clone(),
                class: *class,
                note: String::new(),
                dimensions: None,
                panels: Vec::new(),
                film: FilmReadings::default(),
            };
            first.push(Deed::CarSet { car: car.into() });
            id.clone()
        }
    };
    let starts_at = unbooked.starts_at.unwrap_or(done_at).min(done_at);
    let job = Job {
        id: id.clone(),
        car,
        routine: unbooked.routine.clone(),
        place: unbooked.place.clone(),
        starts_at,
        utc_offset_s: unbooked.utc_offset_s,
        left_out: Vec::new(),
        state: JobState::Booked,
        note: String::new(),
        last_seq: Seq::default(),
        person: String::new(),
        sets: Vec::new(),
        second_day: None,
        done_in: None,
        taken: None,
        first_day_done: None,
        logged: None,
    };
    first.push(Deed::JobSet { job: job.into() });
    let mut with_job = book.clone();
    let stamp = Stamp::unreported(book.head(), done_at);
    for deed in &first {
        with_job.take(deed, stamp);
    }
    let mut decision = log_booked(&with_job, log, now)?;
    first.append(&mut decision.deeds);
    decision.deeds = first;
    Ok(decision)
}
