//! The check: will the kit carry the job, and what to do where it will not.
//!
//! It has three forms: the short one of one job, made for a window of 24 lines; a line a job for a week;
//! and the whole one. Verdicts are words, and no form promises that work is without danger. What is said
//! of plate, film, vibration and noise is said in full in each form of one job.

mod cautions;
mod full;
mod items;
mod short;
mod take_list;
mod verdict;
mod week;

pub(crate) use cautions::shown_in_full;
pub(crate) use full::show as full;
pub(crate) use items::of_check as not_go;
pub(crate) use short::{better_of, either, show as short};
pub(crate) use take_list::{Along, take_list};
pub(crate) use verdict::{carried, sentence, taken, tinted};
pub(crate) use week::show as week;

use fettlebook_contract::v1::{CheckJobsResponse, JobCheck};

use crate::render::Screen;
use crate::render::screen::NO_BREAK;

/// The first thing to do about a check, with the names of what somebody can be hurt by.
pub(crate) fn first_thing(check: &JobCheck) -> Option<String> {
    items::first_thing(&items::of_check(check))
}

/// What stands in the place of a check where no job is booked: of the whole shop, or at a place; `for_days` where
/// several days were asked for.
pub(crate) fn nothing_booked(
    screen: &Screen,
    answer: &CheckJobsResponse,
    place: &str,
    for_days: bool,
) -> String {
    // A command is copied as it stands, so it is not broken.
    let command = |words: &str| format!("'fettle {words}'").replace(' ', &NO_BREAK.to_string());
    let days = if for_days { " for these days" } else { "" };
    let text = match place {
        "" if !for_days => "No booked job to check.".to_owned(),
        "" => format!("No job is booked{days}."),
        place => format!("No job is booked at {place}{days}."),
    };
    let text = match &answer.next_elsewhere {
        Some(next) => {
            let when = screen.moment_or(next.start_time.as_ref(), "no start");
            let (job, there) = (&next.job, &next.place);
            let checks = command(&format!("check {job}"));
            format!("{text} The shop's next is {job}, {when} at {there}: {checks}.")
        }
        None => format!("{text} {} books one.", command("job add")),
    };
    screen.hung("", "", &text)
}

/// Lines of a page that is read without scrolling in a window of 24, at 80 columns.
const LINES: usize = 22;
/// Columns of such a page.
const COLUMNS: usize = 80;

/// Lines of a page that is read without scrolling: more where lines are shorter.
pub(crate) fn lines_max(screen: &Screen) -> usize {
    let more = (LINES * COLUMNS).checked_div(screen.width);
    more.unwrap_or(LINES).max(LINES)
}

/// How many lines a text has.
fn line_count(text: &str) -> usize {
    text.lines().count()
}
