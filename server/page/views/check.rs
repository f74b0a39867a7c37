//! Whether the kit carries a job: the verdict, and each line with its why and what to do, the gravest first.
//!
//! Invariant: it leaves nothing out and shortens nothing of what the check says; the cautions stand in full.

use std::cmp::Reverse;

use axum::extract::Path;
use axum::http::StatusCode;
use fettlebook_contract::v1::{
    CheckJobsRequest, CheckLine, Exposure, GetJobRequest, JobCheck, Unit,
};
use minijinja::{Value, context};

use super::{Answer, go_to};
use crate::asker::Asker;
use crate::words::{self, Clock};
use crate::{refusal, templates};

/// Leads to the check of the next job, of those where the device works while there are some.
pub(crate) async fn next(asker: Asker) -> Answer {
    let asked = CheckJobsRequest {
        place: asker.here().await?.place,
        ..CheckJobsRequest::default()
    };
    let checked = asker.call(asked).await?;
    let here = checked.checks.first().map(|check| &check.job);
    match here.or_else(|| checked.next_elsewhere.as_ref().map(|job| &job.job)) {
        Some(job) => Ok(go_to(&format!("/check/{job}"))),
        None => {
            let text = "No job is booked, so there is nothing to check.";
            Err(refusal::nothing(text).into())
        }
    }
}

/// The view.
pub(crate) async fn show(asker: Asker, Path(job): Path<String>) -> Answer {
    let here = asker.here().await?;
    let asked = GetJobRequest { job: job.clone() };
    let booked = asker.call(asked).await?.job.unwrap_or_default();
    let asked = CheckJobsRequest {
        jobs: vec![job],
        ..CheckJobsRequest::default()
    };
    let checked = asker.call(asked).await?;
    let check = checked.checks.into_iter().next().unwrap_or_default();
    let clock = Clock::of_job(booked.utc_offset_s);
    let mut gravest_first: Vec<&CheckLine> = check.lines.iter().collect();
    // Those of one verdict stay in the order of work.
    gravest_first.sort_by_key(|line| Reverse(line.verdict()));
    let lines = gravest_first
        .into_iter()
        .map(|one| line(one, check.carry_target));
    let told = context! {
        job => check.job.as_str(),
        start => clock.moment_or_none(check.start_time.as_ref()),
        second => clock.moment_or_none(check.second_start_time.as_ref()),
        place => check.place.as_str(),
        verdict => words::verdict(check.verdict()),
        chance => carried(&check),
        aim => words::percent(check.carry_target),
        lines => lines.collect::<Value>(),
        exposures => exposures(&check).collect::<Value>(),
        cautions => check.cautions.clone(),
        taken => check.taken.as_ref().map(|taken| context! {
            by => taken.by.as_str(),
            tags => taken.tags.join(", "),
            despite => taken.despite.as_str(),
            passed => taken.passed.clone(),
        }),
    };
    let title = format!("Check of {}", booked.job);
    let page = templates::page(StatusCode::OK, "check.html", Some(&here), &title, told);
    Ok(page)
}

fn carried(check: &JobCheck) -> String {
    let chance = check.carry_chance;
    chance.map_or_else(String::new, |chance| {
        words::chance(chance, check.carry_target)
    })
}

fn line(line: &CheckLine, aim: f64) -> Value {
    let unit = line.unit();
    let amount = |quantity| words::quantity(quantity, unit);
    let picks = line.picks.iter().map(|pick| {
        let spare = if pick.spare { " (spare)" } else { "" };
        let of_it = if unit == Unit::Piece {
            String::new()
        } else {
            format!(" {}", amount(pick.quantity))
        };
        format!("{}{of_it}{spare}", pick.tag)
    });
    let chance = line.carry_chance;
    context! {
        step => line.step.as_str(),
        what => line.what.as_str(),
        verdict => words::verdict(line.verdict()),
        need => amount(line.need_quantity),
        have => amount(line.have_quantity),
        short => line.short_quantity,
        missing => amount(line.short_quantity),
        counted => unit != Unit::Unspecified,
        reasons => words::reasons(line),
        todos => line.todos.clone(),
        picks => picks.collect::<Vec<_>>().join(", "),
        chance => chance.map_or_else(String::new, |chance| words::chance(chance, aim)),
        rests_on => line.rests_on.as_str(),
    }
}

/// What each of its days asks of hands and ears.
fn exposures(check: &JobCheck) -> impl Iterator<Item = Value> {
    let days = match check.second_exposure {
        None => [Some("over the day"), None],
        Some(_) => [Some("on the first day"), Some("on the second day")],
    };
    let of_days = [&check.exposure, &check.second_exposure];
    let of_days = of_days.into_iter().zip(days);
    of_days.filter_map(|(of_day, day)| Some(exposure(of_day.as_ref()?, day?)))
}

fn exposure(exposure: &Exposure, day: &str) -> Value {
    let a8 = exposure.vibration_a8_m_per_s2;
    let points = exposure.vibration_points;
    context! {
        day => day,
        time => words::time(exposure.machine_time_s),
        vibration => format!("{a8:.1} m/s² over 8 hours, {points:.0} points"),
        declared => exposure.vibration_declared,
        unknown => exposure.vibration_unknown,
        noise => exposure.noise_lex_db.map_or_else(String::new, |level| format!("{level:.0} dB(A) over 8 hours")),
    }
}
