//! How many more jobs a bottle lasts for, by what a job of this shop takes of its make; and what the latest jobs
//! were planned to take of a make that is measured.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use crate::Book;
use crate::ground::ids::Id;
use crate::ready::pick::heel_ul;
use crate::ready::plan::{plan_job, routine_of, sundry_need};
use crate::ready::real_use::RealUse;
use crate::trade::job::{Job, JobState};
use crate::trade::kit::Piece;
use crate::trade::make::Figures;

/// Latest jobs with a make that say what one takes of it. Basis: ours, as for the kept levels.
const JOBS_LOOKED_AT: usize = 6;

/// What jobs take of the makes that were asked about.
#[derive(Debug)]
pub struct BottleJobs<'a> {
    book: &'a Book,
    /// What one job takes of a make, µL; `None` where no job does.
    takes_ul: BTreeMap<&'a Id, Option<i64>>,
}

impl<'a> BottleJobs<'a> {
    /// Of a book.
    #[must_use]
    pub const fn of(book: &'a Book) -> Self {
        Self {
            book,
            takes_ul: BTreeMap::new(),
        }
    }

    /// Whole jobs that what is left of a bottle lasts for.
    ///
    /// Formula: ⌊(left − heel) / m⌋, with m the mean of what the latest jobs with its make were expected to
    /// take, by the plan and by what the shop really uses. `None` of what is no bottle, and where no job
    /// takes of its make.
    pub fn left(&mut self, piece: &'a Piece) -> Option<i64> {
        let bottle = piece.bottle()?;
        let book = self.book;
        let takes_ul = *self
            .takes_ul
            .entry(&piece.make)
            .or_insert_with(|| takes_ul(book, &piece.make));
        let heel_ul = heel_ul(book.policy(), bottle);
        let usable_ul = bottle.left_ul.ul().saturating_sub(heel_ul).max(0);
        usable_ul.checked_div(takes_ul?)
    }
}

/// What a job takes of a make, µL: the mean of the latest; `None` where none takes any.
fn takes_ul(book: &Book, make: &Id) -> Option<i64> {
    let needs = latest_needs(book, make).into_iter();
    let taken: Vec<i64> = needs
        .map(|need| RealUse::of(book, make, need).of_job(need).expected)
        .collect();
    let count = i64::try_from(taken.len()).ok()?;
    let sum = taken.into_iter().fold(0, i64::saturating_add);
    sum.checked_div(count).filter(|mean| *mean > 0)
}

/// What the latest jobs with a make were planned to take of it.
pub(super) fn latest_needs(book: &Book, make: &Id) -> Vec<i64> {
    let uses = |job: &&Job| {
        let routine = routine_of(book, job);
        job.state != JobState::CalledOff
            && routine.is_ok_and(|routine| routine.makes().any(|id| id == make))
    };
    let mut jobs: Vec<&Job> = book.jobs().map(AsRef::as_ref).filter(uses).collect();
    jobs.sort_by_key(|job| Reverse(job.starts_at));
    let latest = jobs.into_iter().take(JOBS_LOOKED_AT);
    latest.filter_map(|job| need(book, job, make)).collect()
}

/// What a job is planned to take.
fn need(book: &Book, job: &Job, make: &Id) -> Option<i64> {
    if let Figures::Sundry(_) = book.make(make)?.figures {
        return sundry_need(book, job, make);
    }
    let plan = plan_job(book, job).ok()?;
    let needs = plan.liquid_needs();
    let (.., need) = needs.into_iter().find(|(of, ..)| *of == make)?;
    Some(need.ul())
}
