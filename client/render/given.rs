//! What a bottle, a bundle, a pack or a battery gave to its jobs, and how long it lasts.
//!
//! It serves `kit show`. The figures and the sentences are the service's.

use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{GivenBasis, GivenToJob, Piece, SupplyLife};

use crate::render::amount;
use crate::render::screen::{Screen, several};
use crate::render::table::{Column, table};
use crate::render::wear::figure;

/// Jobs shown under a piece.
const JOBS_SHOWN: usize = 8;

/// How long it lasts and why, for the sheet of the piece.
pub(crate) fn rows(
    screen: &Screen,
    piece: &Piece,
    supply: &SupplyLife,
) -> Vec<(&'static str, String)> {
    let jobs = supply.jobs_left.as_ref().map_or_else(String::new, |jobs| {
        let (low, typical, high) = (figure(jobs.low), figure(jobs.typical), figure(jobs.high));
        format!("typically {typical}, 80 % of the time {low} to {high}")
    });
    vec![
        ("Jobs left", jobs),
        ("By booked jobs", by_booked_jobs(screen, supply)),
        ("Why", supply.rests_on.clone()),
        ("Used for", used_for(piece, supply)),
    ]
}

/// The jobs it went to, and how often it was read where anything of it can be.
fn used_for(piece: &Piece, supply: &SupplyLife) -> String {
    if supply.given.is_empty() {
        return "nothing yet".to_owned();
    }
    let jobs = several(jobs_of(supply), "job", "jobs");
    if matches!(piece.state, Some(State::Battery(_))) {
        return jobs;
    }
    let readings = several(supply.reading_count, "reading", "readings");
    format!("{jobs}, {readings}")
}

fn jobs_of(supply: &SupplyLife) -> i64 {
    let of_jobs = supply.given.iter().filter(|given| !given.job.is_empty());
    i64::try_from(of_jobs.count()).unwrap_or(i64::MAX)
}

/// With which booked job it comes to its end.
fn by_booked_jobs(screen: &Screen, supply: &SupplyLife) -> String {
    let booked = supply.booked_job_count;
    match (booked, supply.last_job.is_empty()) {
        (0, true) => "no booked job takes of it".to_owned(),
        (_, true) => format!(
            "lasts for the {} of it",
            several(booked, "booked job that takes", "booked jobs that take")
        ),
        (_, false) => format!(
            "{} on {} is its last",
            supply.last_job,
            screen.moment_or(supply.last_job_time.as_ref(), "a day that is not known"),
        ),
    }
}

/// What it gave to each job, the latest first; empty where it gave nothing.
pub(crate) fn list(screen: &Screen, piece: &Piece, supply: &SupplyLife) -> String {
    if supply.given.is_empty() {
        return String::new();
    }
    let has_plan = supply
        .given
        .iter()
        .any(|given| given.planned_quantity.is_some());
    let mut headings = vec![("Gave to", Column::Name), ("Done", Column::Text)];
    if has_plan {
        headings.push(("Planned", Column::Right));
    }
    headings.extend([("Gave", Column::Right), ("Known", Column::Text)]);
    let rows = supply.given.iter().rev().take(JOBS_SHOWN).map(|given| {
        let mut cells = vec![
            if given.job.is_empty() {
                "other work".to_owned()
            } else {
                given.job.clone()
            },
            screen.moment_or(given.done_time.as_ref(), ""),
        ];
        if has_plan {
            let planned = given.planned_quantity;
            cells.push(planned.map_or_else(String::new, |planned| told(piece, planned)));
        }
        cells.push(told(piece, given.quantity));
        cells.push(known(given).to_owned());
        cells
    });
    let mut text = table(screen, &headings, rows);
    let more = supply.given.len().saturating_sub(JOBS_SHOWN);
    if more > 0 {
        let more = i64::try_from(more).unwrap_or(i64::MAX);
        text.push_str(&format!(
            "\nAnd {} before: --json has them.",
            several(more, "job", "jobs")
        ));
    }
    text
}

/// A quantity of what the piece holds.
fn told(piece: &Piece, quantity: i64) -> String {
    match &piece.state {
        Some(State::Bottle(_)) => amount::volume(quantity),
        Some(State::Sundry(sundry)) => amount::quantity(quantity, sundry.unit()),
        Some(State::Battery(_)) => amount::time(quantity),
        _ => several(quantity, "towel", "towels"),
    }
}

fn known(given: &GivenToJob) -> &'static str {
    match given.basis() {
        GivenBasis::Weighed => "weighed",
        GivenBasis::Counted => "counted",
        GivenBasis::Said => "as said",
        GivenBasis::Planned => "as planned",
        GivenBasis::Unspecified => "",
    }
}
