//! A day in the place of a job: `fettle check tomorrow` is about the jobs that are booked for it.

use std::ffi::OsString;

use fettlebook_contract::v1::{ErrorReason, Job, JobState, ListJobsRequest};
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

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
    let asked = ListJobsRequest {
        state: JobState::Booked.into(),
        ..ListJobsRequest::default()
    };
    let jobs = page::every(session, asked).await.ok()?.jobs;
    let zone = now.time_zone();
    let of_day = jobs.iter().filter(|job| starts_on(job, zone) == Some(day));
    let names: Vec<String> = of_day.map(|job| job.job.clone()).collect();
    let words = in_place(args, &fault.hints.name, &names)?;
    Some((words, names.join(", ")))
}

fn starts_on(job: &Job, zone: &TimeZone) -> Option<Date> {
    let start = job.start_time.as_ref()?;
    let start = Timestamp::new(start.seconds, start.nanos).ok()?;
    Some(start.to_zoned_datetime(zone.clone()).date())
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
