//! What the check of a job knows of its days before it looks at the kit.

use super::hours::Diary;
use super::people::DayLoads;
use super::plans::Plans;
use crate::Book;
use crate::ready::times::Paces;
use crate::trade::job::Job;

/// What is known of the days of the jobs that are checked, before any of them is looked at.
pub(super) struct Known<'a> {
    pub(super) plans: Plans<'a>,
    pub(super) diary: Diary<'a>,
    pub(super) days: DayLoads,
}

impl<'a> Known<'a> {
    pub(super) fn of(book: &'a Book, jobs: &[&Job]) -> Self {
        let (plans, paces) = (Plans::of(book, jobs), Paces::of(book));
        Self {
            diary: Diary::of(book, &paces, &plans),
            days: DayLoads::of(book, &paces, &plans, jobs),
            plans,
        }
    }
}
