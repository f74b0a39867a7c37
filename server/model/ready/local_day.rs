//! The day it is in the shop at a moment.
//!
//! Serves whatever is late, due or past its date. A book names no time zone: each job carries how far the
//! shop's clock was from UTC when it starts, so that the job nearest to a moment says it, in summer and
//! in winter. That is the same on every machine, whatever it knows of time zones.

use jiff::civil::Date;
use jiff::tz::Offset;

use crate::{Book, Moment};

/// Whether it is one day in the shop at two moments.
pub fn is_same_day(book: &Book, one: Moment, other: Moment) -> bool {
    let days = LocalDays::of(book);
    days.day(one) == days.day(other)
}

/// The days of a shop.
pub(crate) struct LocalDays {
    /// When a job starts, and how far the shop's clock is from UTC then, s; earliest first.
    offsets: Vec<(Moment, i32)>,
}

impl LocalDays {
    /// As the jobs of a book tell them; by UTC where it has none.
    pub(crate) fn of(book: &Book) -> Self {
        let mut offsets: Vec<_> = book
            .jobs()
            .map(|job| (job.starts_at, job.utc_offset_s))
            .collect();
        offsets.sort_unstable();
        Self { offsets }
    }

    /// The day at a moment; of two jobs as near the earlier one says it.
    pub(crate) fn day(&self, moment: Moment) -> Date {
        let later = self.offsets.partition_point(|(start, _)| *start < moment);
        let before = later.checked_sub(1).and_then(|at| self.offsets.get(at));
        let nearest = before
            .into_iter()
            .chain(self.offsets.get(later))
            .min_by_key(|(start, _)| start.as_second().abs_diff(moment.as_second()));
        let offset = nearest.and_then(|(_, offset_s)| Offset::from_seconds(*offset_s).ok());
        offset.unwrap_or(Offset::UTC).to_datetime(moment).date()
    }
}

#[cfg(test)]
mod tests {
    use super::LocalDays;

    /// Source: arithmetic of offsets, two hours ahead of UTC in summer, one in winter, eight behind.
    #[test]
    fn the_job_nearest_to_a_moment_says_how_the_clock_stands() {
        let offsets = [
            ("2026-06-03T06:00:00Z", 7_200),
            ("2026-12-03T07:00:00Z", 3_600),
        ];
        let offsets = offsets.map(|(start, offset)| (start.parse().unwrap(), offset));
        let days = LocalDays {
            offsets: offsets.to_vec(),
        };
        let day = |moment: &str| days.day(moment.parse().unwrap()).to_string();
        assert_eq!(day("2026-06-09T21:59:59Z"), "2026-06-09");
        assert_eq!(day("2026-06-09T22:00:00Z"), "2026-06-10");
        assert_eq!(day("2026-11-09T22:00:00Z"), "2026-11-09");
        assert_eq!(day("2026-11-09T23:00:00Z"), "2026-11-10");
        assert_eq!(day("2027-11-09T23:00:00Z"), "2027-11-10");
        assert_eq!(day("2025-11-09T22:00:00Z"), "2025-11-10");
        let west = LocalDays {
            offsets: vec![("2026-06-03T16:00:00Z".parse().unwrap(), -28_800)],
        };
        let late = "2026-06-10T07:59:59Z".parse().unwrap();
        assert_eq!(west.day(late).to_string(), "2026-06-09");
        let none = LocalDays {
            offsets: Vec::new(),
        };
        assert_eq!(none.day(late).to_string(), "2026-06-10");
    }
}
