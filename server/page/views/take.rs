//! Packing: what goes to a job, or to all jobs of a day at a place, ticked off as it is packed; and the take.
//!
//! The form carries the pick that it shows: what was on the page is what is taken.

mod packing;
mod record;

use std::collections::BTreeMap;

use axum::extract::Path;
use axum::http::StatusCode;
use fettlebook_contract::v1::{GetJobRequest, Job, JobState, ListJobsRequest};
use minijinja::{Value, context};

use super::Answer;
use crate::asker::{Asker, Here};
use crate::form::Asked;
use crate::words::{self, Clock};
use crate::{limits, refusal, templates};

pub(crate) use record::{give_back, record};

/// The view: what can be packed for, or all of a day at a place.
pub(crate) async fn list(asker: Asker, Asked(asked): Asked) -> Answer {
    let here = asker.here().await?;
    let booked = ListJobsRequest {
        state: JobState::Booked.into(),
        place: asked.first("place").to_owned(),
        ..ListJobsRequest::default()
    };
    let jobs = asker.every(booked).await?.jobs;
    if !asked.has("day") {
        return Ok(days(&here, &jobs));
    }
    let (day, place) = (asked.first("day"), asked.first("place"));
    let mut of_day: Vec<Job> = jobs.into_iter().filter(|job| day_of(job) == day).collect();
    if of_day.is_empty() {
        let text = "No job is booked there on that day, so there is nothing to pack.";
        return Err(refusal::nothing(text).into());
    }
    // What is taken needs no more packing; by start they came.
    of_day.sort_by_key(|job| job.taken.is_some());
    let more = of_day.len().saturating_sub(limits::PACK_JOBS);
    of_day.truncate(limits::PACK_JOBS);
    let title = format!("Take for {place}, {}", words::day(day));
    packing::show(&asker, &here, &title, &of_day, more).await
}

/// The view of one job.
pub(crate) async fn show(asker: Asker, Path(job): Path<String>) -> Answer {
    let here = asker.here().await?;
    let job = asker.call(GetJobRequest { job }).await?.job;
    let job = job.unwrap_or_default();
    let title = format!("Take {}", job.job);
    packing::show(&asker, &here, &title, &[job], 0).await
}

/// Booked jobs by day and place, those here first on each day.
fn days(here: &Here, jobs: &[Job]) -> axum::response::Response {
    let mut by_day: BTreeMap<(String, bool, &str), Vec<&Job>> = BTreeMap::new();
    for job in jobs.iter().take(limits::JOB_ROWS) {
        let elsewhere = job.place != here.place;
        let of_day = by_day.entry((day_of(job), elsewhere, &job.place));
        of_day.or_default().push(job);
    }
    let days = by_day.into_iter().map(|((day, _, place), jobs)| {
        context! {
            said => words::day(&day),
            day,
            place,
            several => jobs.len() > 1,
            jobs => jobs.iter().map(|job| context! {
                job => job.job.as_str(),
                start => Clock::of_job(job.utc_offset_s).moment_or_none(job.start_time.as_ref()),
                taken => job.taken.is_some(),
            }).collect::<Value>(),
        }
    });
    let told = context! {
        days => days.collect::<Value>(),
        more => jobs.len().saturating_sub(limits::JOB_ROWS),
    };
    templates::page(StatusCode::OK, "take.html", Some(here), "Take", told)
}

/// The day on which a job starts, where it is.
fn day_of(job: &Job) -> String {
    let clock = Clock::of_job(job.utc_offset_s);
    job.start_time
        .as_ref()
        .map_or_else(String::new, |start| clock.day(start))
}
