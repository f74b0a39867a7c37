//! A day in the place of a job: `fettle check tomorrow` is about the jobs that are booked for it, on a van about
//! its own where it has some.

use std::ffi::OsString;

use fettlebook_contract::v1::{ErrorReason, JobState, ListJobsRequest};
use jiff::ZonedDateTime;
use jiff::civil::Date;

use crate::connect::Session;
use crate::fault::Fault;
use crate::page;
use crate::when;

/// The command line with the jobs of a day in the place of the day, and their names, where a job that the
/// book does not know is a day on which there are some.
pub(crate) async fn meant(
    session: &Session,
    args: &[OsString],
    fault: &Fault,
) -> Option<(Vec<OsString>, String)> {
    if fault.contract_reason() != Some(ErrorReason::JobUnknown) {
        return None;
    }
    let now = session.now();
    let day = when::day(&fault.hints.name, &now).ok()?;
    let asked = of_day(day, &now)?;
    let here = match session.van() {
        Some(place) => {
            let asked = ListJobsRequest {
                place,
                ..asked.clone()
            };
            page::every(session, asked).await.ok()?.jobs
        }
        None => Vec::new(),
    };
    let jobs = match here.is_empty() {
        true => page::every(session, asked).await.ok()?.jobs,
        false => here,
    };
    let names: Vec<String> = jobs.into_iter().map(|job| job.job).collect();
    let words = in_place(args, &fault.hints.name, &names)?;
    Some((words, names.join(", ")))
}

/// Booked jobs that start on a day.
fn of_day(day: Date, now: &ZonedDateTime) -> Option<ListJobsRequest> {
    let begins = |day: Date| day.to_zoned_datetime(now.time_zone().clone()).ok();
    Some(ListJobsRequest {
        state: JobState::Booked.into(),
        from_time: Some(when::stamp(&begins(day)?)),
        before_time: Some(when::stamp(&begins(day.tomorrow().ok()?)?)),
        ..ListJobsRequest::default()
    })
}

/// The words with names in the place of one; nothing without names, or where the word is not there.
fn in_place(args: &[OsString], word: &str, names: &[String]) -> Option<Vec<OsString>> {
    let is_it = |one: &OsString| one.to_string_lossy().eq_ignore_ascii_case(word);
    let at = args.iter().skip(1).position(is_it)?.checked_add(1)?;
    if names.is_empty() {
        return None;
    }
    let mut words = args.get(..at)?.to_vec();
    words.extend(names.iter().map(OsString::from));
    words.extend(args.get(at.checked_add(1)?..)?.iter().cloned());
    Some(words)
}

#[cfg(test)]
mod tests {
    use std::ffi::OsString;

    use super::in_place;

    #[test]
    fn the_jobs_of_a_day_stand_where_the_day_stood() {
        let args: Vec<OsString> = ["fettle", "check", "Tomorrow", "--strict"]
            .map(Into::into)
            .to_vec();
        let names = ["a".to_owned(), "b".to_owned()];
        let words = in_place(&args, "tomorrow", &names).unwrap();
        assert_eq!(words, ["fettle", "check", "a", "b", "--strict"]);
        assert_eq!(in_place(&args, "tomorrow", &[]), None);
        assert_eq!(in_place(&args, "friday", &names), None);
    }
}
