//! Which job is logged where none was named: the one that has ended where this device works, or one that is
//! chosen. Another van's job is never taken unasked.

use fettlebook_contract::v1::{GetTodayRequest, Job, JobState, ListJobsRequest};

use super::questions::left;
use crate::ask::ask_which;
use crate::connect::Session;
use crate::fault::Fault;
use crate::page;

/// Jobs that may be meant, by id.
#[derive(Debug, Default, PartialEq, Eq)]
struct Ended {
    /// Ended where this device works: on a van there, else anywhere.
    here: Vec<String>,
    /// Ended elsewhere.
    elsewhere: Vec<String>,
}

impl Ended {
    fn of(unlogged: Vec<Job>, van: Option<&str>) -> Self {
        let is_here = |job: &Job| van.is_none_or(|van| job.place == van);
        let (here, elsewhere): (Vec<Job>, Vec<Job>) = unlogged.into_iter().partition(is_here);
        let ids = |jobs: Vec<Job>| jobs.into_iter().map(|job| job.job).collect();
        Self {
            here: ids(here),
            elsewhere: ids(elsewhere),
        }
    }

    /// That nobody said which, with those that it could be.
    fn none_said(&self, van: Option<&str>) -> Fault {
        let mut fault = Fault::usage("JOB", "Which job was done was not said.");
        let at = van.map_or_else(String::new, |van| format!(" at {van}"));
        let mut told = Vec::new();
        if !self.here.is_empty() {
            told.push(format!(
                "Ended{at} and not logged: {}.",
                self.here.join(", ")
            ));
        }
        if !self.elsewhere.is_empty() {
            told.push(format!("Elsewhere: {}.", self.elsewhere.join(", ")));
        }
        fault.todo = if told.is_empty() {
            "'fettle job list' names the jobs that are booked; --loose logs a use outside any job."
                .to_owned()
        } else {
            told.join(" ")
        };
        fault
    }
}

/// The job that is logged.
///
/// # Errors
/// When there is none, nobody is there to choose, or the terminal fails.
pub(super) async fn meant(session: &Session, somebody: bool) -> Result<String, Fault> {
    let van = session.van();
    let place = van.clone().unwrap_or_default();
    let asked = GetTodayRequest {
        place: place.clone(),
    };
    let ended = Ended::of(session.call(asked).await?.unlogged, van.as_deref());
    if !somebody {
        return Err(ended.none_said(van.as_deref()));
    }
    if let [only] = ended.here.as_slice() {
        return Ok(only.clone());
    }
    let mut offered = ended.here.clone();
    if offered.is_empty() {
        let asked = ListJobsRequest {
            state: JobState::Booked.into(),
            place,
            ..ListJobsRequest::default()
        };
        let booked = page::every(session, asked).await?.jobs;
        offered.extend(booked.into_iter().map(|job| job.job));
        offered.extend(ended.elsewhere.iter().cloned());
    }
    if offered.is_empty() {
        return Err(ended.none_said(van.as_deref()));
    }
    let offered: Vec<&str> = offered.iter().map(String::as_str).collect();
    let chosen = ask_which("Which job was done?", &offered)?;
    chosen.map(str::to_owned).ok_or_else(left)
}

/// The job of two days whose first day is logged.
///
/// # Errors
/// When there is none, nobody is there to choose, or the terminal fails.
pub(super) async fn begun(session: &Session, somebody: bool) -> Result<String, Fault> {
    let asked = ListJobsRequest {
        state: JobState::Booked.into(),
        place: session.van().unwrap_or_default(),
        ..ListJobsRequest::default()
    };
    let booked = page::every(session, asked).await?.jobs.into_iter();
    let begun =
        booked.filter(|job| job.second_start_time.is_some() && job.first_day_done_time.is_none());
    let begun: Vec<String> = begun.map(|job| job.job).collect();
    let mut fault = Fault::usage("JOB", "The job whose first day was done was not named.");
    match begun.as_slice() {
        [] => {
            "No job that is booked has a first day to log: 'fettle job list' names them."
                .clone_into(&mut fault.todo);
            Err(fault)
        }
        [only] if somebody => Ok(only.clone()),
        _ if somebody => {
            let offered: Vec<&str> = begun.iter().map(String::as_str).collect();
            let chosen = ask_which("The first day of which job was done?", &offered)?;
            chosen.map(str::to_owned).ok_or_else(left)
        }
        _ => {
            fault.todo = format!("Booked for two days: {}.", begun.join(", "));
            Err(fault)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Ended, Job};

    fn unlogged() -> Vec<Job> {
        let job = |job: &str, place: &str| Job {
            job: job.to_owned(),
            place: place.to_owned(),
            ..Job::default()
        };
        vec![job("red-city", "van-a"), job("black-suv", "van-b")]
    }

    #[test]
    fn on_a_van_its_own_jobs_are_meant_and_others_are_named_apart() {
        let of_van = Ended::of(unlogged(), Some("van-b"));
        assert_eq!(of_van.here, ["black-suv"]);
        assert_eq!(of_van.elsewhere, ["red-city"]);
        assert_eq!(
            of_van.none_said(Some("van-b")).todo,
            "Ended at van-b and not logged: black-suv. Elsewhere: red-city."
        );
        let of_other = Ended::of(unlogged(), Some("van-c"));
        assert!(of_other.here.is_empty(), "none of another van's is taken");
        assert_eq!(
            of_other.none_said(Some("van-c")).todo,
            "Elsewhere: red-city, black-suv."
        );
    }

    #[test]
    fn at_the_bench_every_job_that_ended_is_meant() {
        let of_shop = Ended::of(unlogged(), None);
        assert_eq!(of_shop.here, ["red-city", "black-suv"]);
        let todo = of_shop.none_said(None).todo;
        assert_eq!(todo, "Ended and not logged: red-city, black-suv.");
        assert!(
            Ended::default()
                .none_said(None)
                .todo
                .contains("fettle job list")
        );
    }
}
