//! Telling that a job was done: as planned, or with what was otherwise.
//!
//! The form carries the pick that it shows, so that what was on the page is what is recorded.

mod otherwise;
mod record;
mod rows;

use axum::extract::Path;
use axum::http::StatusCode;
use fettlebook_contract::v1::{
    DeedKind, GetJobRequest, GetTodayRequest, Job, JobState, ListJobsRequest, LogUseRequest,
    PickedPiece,
};
use minijinja::{Value, context};

use super::Answer;
use super::pick::packed;
use crate::asker::{Asker, Here};
use crate::form::{Asked, Fields};
use crate::words::{self, Clock};
use crate::{limits, request, templates};

pub(crate) use record::record;

/// Name of the field that says that it is the first day alone.
const FIRST_DAY: &str = "first_day";

/// The view of what can be logged: first what has ended.
pub(crate) async fn list(asker: Asker) -> Answer {
    let here = asker.here().await?;
    let place = here.place.clone();
    let ended = asker.call(GetTodayRequest { place }).await?.unlogged;
    let booked = ListJobsRequest {
        state: JobState::Booked.into(),
        ..ListJobsRequest::default()
    };
    let booked = asker.every(booked).await?.jobs;
    let is_ended = |job: &&Job| ended.iter().any(|one| one.job == job.job);
    let others = booked
        .iter()
        .filter(|job| !is_ended(job))
        .take(limits::JOB_ROWS);
    let told = context! {
        ended => ended.iter().map(job_row).collect::<Value>(),
        booked => others.map(job_row).collect::<Value>(),
    };
    Ok(templates::page(
        StatusCode::OK,
        "logs.html",
        Some(&here),
        "Log",
        told,
    ))
}

fn job_row(job: &Job) -> Value {
    context! {
        job => job.job.as_str(),
        place => job.place.as_str(),
        start => Clock::of_job(job.utc_offset_s).moment_or_none(job.start_time.as_ref()),
    }
}

/// The view of one job, or of the first day of one that takes two.
pub(crate) async fn show(asker: Asker, Path(job): Path<String>, Asked(asked): Asked) -> Answer {
    let first_day = !asked.first(FIRST_DAY).is_empty();
    let here = asker.here().await?;
    let booked = asker.call(GetJobRequest { job: job.clone() }).await?;
    let booked = booked.job.unwrap_or_default();
    let preview = LogUseRequest {
        request_id: request::fresh(),
        job,
        validate_only: true,
        first_day,
        ..LogUseRequest::default()
    };
    let seen = asker.call(preview).await?;
    let entry = seen.entry.unwrap_or_default();
    let ran = entry
        .deeds
        .iter()
        .filter(|deed| deed.kind() == DeedKind::MachineUsed);
    let ran_ms: i64 = ran.filter_map(|deed| deed.time_ms).sum();
    let planned = words::time(ran_ms / 1000);
    let sheet = Sheet {
        booked: &booked,
        picked: &seen.picked,
        planned: &planned,
        first_day,
        sent: &Fields::default(),
        wrong: "",
    };
    form(&asker, &here, &sheet).await
}

/// What a form of a job is laid out from.
struct Sheet<'a> {
    booked: &'a Job,
    picked: &'a [PickedPiece],
    /// How long the machines run as planned; empty where it is not looked up again.
    planned: &'a str,
    /// Whether it is the first day alone of a job that takes two.
    first_day: bool,
    sent: &'a Fields,
    wrong: &'a str,
}

/// The form, with what was typed into it and what is wrong with that.
async fn form(asker: &Asker, here: &Here, sheet: &Sheet<'_>) -> Answer {
    let (booked, sent) = (sheet.booked, sheet.sent);
    let pieces = asker
        .pieces(sheet.picked.iter().map(|one| one.tag.clone()))
        .await?;
    let id = sent.first("request_id");
    let id = if id.is_empty() {
        request::fresh()
    } else {
        id.to_owned()
    };
    let told = context! {
        panels => rows::panels(asker, booked, sent).await?,
        planned => sheet.planned,
        minutes => sent.first(otherwise::MINUTES),
        fell => sent.first(otherwise::FELL),
        person => sent.first(otherwise::PERSON),
        booked_for => booked.person.as_str(),
        first_day => sheet.first_day,
        takes_two => booked.second_start_time.is_some() && booked.first_day_done_time.is_none(),
        note => sent.first("note"),
        otherwise => otherwise::is_said(sent),
        picked => sheet.picked.iter().map(packed).collect::<Vec<_>>(),
        request_id => id,
        seen => here.head_seq,
        wrong => sheet.wrong,
        ..job_row(booked)
    };
    let rows = rows::kit(sheet.picked, &pieces, sent);
    let told = context! { ..told, ..rows };
    let code = if sheet.wrong.is_empty() {
        StatusCode::OK
    } else {
        StatusCode::BAD_REQUEST
    };
    let title = format!("Log {}", booked.job);
    Ok(templates::page(code, "log.html", Some(here), &title, told))
}
