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
pub(crate) use short::show as short;
pub(crate) use take_list::{Along, take_list};
pub(crate) use verdict::{carried, sentence, taken, tinted};
pub(crate) use week::show as week;

use fettlebook_contract::v1::JobCheck;

use crate::render::Screen;

/// The first thing to do about a check, with the names of what somebody can be hurt by.
pub(crate) fn first_thing(check: &JobCheck) -> Option<String> {
    items::first_thing(&items::of_check(check))
}

/// What stands in the place of a check where no job is booked.
pub(crate) const NOTHING_BOOKED: &str = "No booked job to check. 'fettle job add' books one.";

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
