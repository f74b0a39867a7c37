//! The diary: jobs booked, done and called off.
//!
//! It serves `job list` and `job show`. Times are the person's own clock, with their date.

use fettlebook_contract::v1::{Job, JobState};

use crate::render::screen::Screen;
use crate::render::table::{Column, sheet, table};
use crate::render::tint;

/// Jobs, a line each.
pub(crate) fn list(screen: &Screen, jobs: &[Job]) -> String {
    if jobs.is_empty() {
        return "No jobs here. 'fettle job add' books one.".to_owned();
    }
    table(
        screen,
        &[
            ("Job", Column::Text),
            ("Start", Column::Whole),
            ("Where", Column::Text),
            ("Work", Column::Text),
            ("State", Column::Whole),
        ],
        jobs.iter().map(|job| {
            vec![
                job.job.clone(),
                screen.moment_or(job.start_time.as_ref(), ""),
                job.place.clone(),
                format!("{} on {}", job.routine, job.car),
                state(job.state()).to_owned(),
            ]
        }),
    )
}

const fn state(state: JobState) -> &'static str {
    match state {
        JobState::Unspecified => "",
        JobState::Booked => "booked",
        JobState::Done => "done",
        JobState::CalledOff => "called off",
    }
}

/// One job.
pub(crate) fn show(screen: &Screen, job: &Job) -> String {
    sheet(
        screen,
        [
            ("Job", tint::strong(&job.job)),
            ("State", state(job.state()).to_owned()),
            ("Start", screen.moment_or(job.start_time.as_ref(), "")),
            ("Done", screen.moment_or(job.done_time.as_ref(), "")),
            ("Where", job.place.clone()),
            ("Car", job.car.clone()),
            ("Routine", job.routine.clone()),
            ("Left out", job.left_out_panels.join(", ")),
            ("Note", job.note.clone()),
        ],
    )
}
