//! The diary: jobs booked, done and called off.
//!
//! It serves `job list` and `job show`. Times are the person's own clock, with their date.

use fettlebook_contract::v1::{Job, JobState, JobTake};

use crate::render::screen::Screen;
use crate::render::table::{Column, sheet, table};
use crate::render::{tags, tint, understood};

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
                format!("{} on {}{}", job.routine, job.car, goes_on(screen, job)),
                standing(job),
            ]
        }),
    )
}

/// When it goes on, of a job that takes two days.
fn goes_on(screen: &Screen, job: &Job) -> String {
    let second = job.second_start_time.as_ref();
    second.map_or_else(String::new, |start| {
        format!(", goes on {}", screen.moment_or(Some(start), ""))
    })
}

/// When its first day was done, of a job of which that was logged.
fn first_day(screen: &Screen, job: &Job) -> String {
    let done = job.first_day_done_time.as_ref();
    done.map_or_else(String::new, |done| format!("done {}", screen.moment(done)))
}

/// Where it stands, whether it is taken, and what is odd about that.
fn standing(job: &Job) -> String {
    let mut text = state(job.state()).to_owned();
    if job.state() == JobState::Booked && job.first_day_done_time.is_some() {
        text.push_str(", first day done");
    }
    let Some(taken) = &job.taken else {
        return text;
    };
    if job.state() == JobState::Booked {
        text.push_str(", taken");
    }
    if taken.unlogged {
        text.push_str(&format!(", {}", tint::warn("not logged")));
    }
    if !taken.despite.is_empty() {
        text.push_str(&format!(", {}", tint::warn("despite stop")));
    }
    text
}

/// What was taken for a job: when and by whom, what was passed, and what is to be done about it.
pub(crate) fn taken(screen: &Screen, job: &str, taken: &JobTake) -> Vec<(&'static str, String)> {
    let when = screen.moment_or(taken.taken_time.as_ref(), "");
    let by = if taken.by.is_empty() {
        String::new()
    } else {
        format!(" by {}", taken.by)
    };
    let tags: Vec<&str> = taken.tags.iter().map(String::as_str).collect();
    let mut rows = vec![
        ("Taken", format!("{when}{by}, entry {}", taken.seq)),
        ("Pieces", tags::ranges(&tags)),
    ];
    if !taken.despite.is_empty() {
        rows.push(("Despite stop", tint::warn(&taken.despite)));
        rows.push(("Passed", taken.passed.join(" ")));
    }
    if taken.unlogged {
        rows.push((
            "Not logged",
            format!(
                "'fettle log {job}' records it, 'fettle take {job} --release' gives the pick back."
            ),
        ));
    }
    rows
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
    let mut rows = vec![
        ("Job", tint::strong(&job.job)),
        ("State", state(job.state()).to_owned()),
        ("Start", screen.moment_or(job.start_time.as_ref(), "")),
        ("First day", first_day(screen, job)),
        ("Second day", understood::second_day(screen, job)),
        ("Done", screen.moment_or(job.done_time.as_ref(), "")),
        ("Where", job.place.clone()),
        ("Who", job.person.clone()),
        ("Car", job.car.clone()),
        ("Routine", job.routine.clone()),
        ("Sets", understood::sets(job)),
        ("Left out", job.left_out_panels.join(", ")),
    ];
    let taken = job.taken.as_ref().map(|held| taken(screen, &job.job, held));
    rows.extend(taken.into_iter().flatten());
    rows.push(("Note", job.note.clone()));
    sheet(screen, rows)
}
