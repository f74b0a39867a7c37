//! `jobs.csv`: the diary, each start with its offset from UTC.
//!
//! The offset says which day it was there, so it is never left out.

use fettlebook_contract::v1::Job;
use jiff::Timestamp;
use jiff::fmt::temporal::{Pieces, PiecesOffset};
use jiff::tz::Offset;

use super::Read;
use super::sheet::Sheet;
use super::table::Source;
use crate::columns::cell::{clock, excerpt, zone_of};
use crate::columns::{Cell, Decimals};
use crate::fault::Fault;

/// The column of the start, and that of the second day's.
const START: &str = "start_time";
const SECOND_START: &str = "second_start_time";

fn sheet() -> Result<Sheet<Job>, Fault> {
    // The start holds the offset; the rest, what was taken for a job too, is the book's own.
    let is_own =
        |name: &str| matches!(name, "utc_offset_s" | "last_seq") || name.starts_with("taken.");
    let sheet = Sheet::new(|name| !is_own(name))?;
    Ok(sheet.led_by(&[START, SECOND_START]))
}

/// The file of jobs.
///
/// # Errors
/// When one cannot be written.
pub(super) fn written(jobs: &[Job], decimals: Decimals) -> Result<String, Fault> {
    let starts = |job: &Job| {
        let starts = [&job.start_time, &job.second_start_time];
        starts
            .map(|start| Cell::Text(told(job, start.as_ref())))
            .to_vec()
    };
    let jobs = jobs.iter().map(|job| (starts(job), job));
    sheet()?.written_led(jobs, decimals)
}

/// `2026-11-26T08:00:00+01:00`; empty when there is none.
fn told(job: &Job, start: Option<&prost_types::Timestamp>) -> String {
    let told =
        start.and_then(|stamp| clock(stamp.seconds, stamp.nanos, &zone_of(job.utc_offset_s)?));
    told.unwrap_or_default()
}

/// Reads the file.
///
/// # Errors
/// When it cannot be read at all.
pub(super) fn read(source: &mut Source, file: &str) -> Result<Vec<Read<Job>>, Fault> {
    let mut jobs = Vec::new();
    for read in sheet()?.read_led(source, file)? {
        let line = read.line;
        let mut read = read;
        let (before, job) = &mut read.what;
        let cell = |at: usize| before.get(at).map(String::as_str).unwrap_or_default();
        match moment(cell(0)) {
            Some((moment, offset)) => {
                job.start_time = Some(stamp(moment));
                job.utc_offset_s = i64::from(offset.seconds());
            }
            None => source.wrong(file, line, START, no_moment(cell(0))),
        }
        match moment(cell(1)) {
            Some((moment, _)) => job.second_start_time = Some(stamp(moment)),
            None if cell(1).is_empty() => {}
            None => source.wrong(file, line, SECOND_START, no_moment(cell(1))),
        }
        jobs.push(read.turned(|(_, job)| job));
    }
    Ok(jobs)
}

fn stamp(moment: Timestamp) -> prost_types::Timestamp {
    prost_types::Timestamp {
        seconds: moment.as_second(),
        nanos: moment.subsec_nanosecond(),
    }
}

fn no_moment(text: &str) -> String {
    format!(
        "'{}' is not a time with its offset from UTC, such as 2026-11-26T08:00:00+01:00.",
        excerpt(text)
    )
}

/// The moment, and the offset that was written with it.
fn moment(text: &str) -> Option<(Timestamp, Offset)> {
    let pieces = Pieces::parse(text.trim()).ok()?;
    let offset = match pieces.offset()? {
        PiecesOffset::Zulu => Offset::UTC,
        PiecesOffset::Numeric(offset) => offset.offset(),
        _ => return None,
    };
    let local = pieces.date().to_datetime(pieces.time()?);
    Some((offset.to_timestamp(local).ok()?, offset))
}

#[cfg(test)]
mod tests {
    use super::moment;

    fn read(text: &str) -> Option<String> {
        let (moment, offset) = moment(text)?;
        Some(format!("{moment} {}", offset.seconds()))
    }

    #[test]
    fn a_start_is_a_time_with_its_offset() {
        let utc = "2026-11-26T07:00:00Z";
        assert_eq!(
            read("2026-11-26T08:00:00+01:00"),
            Some(format!("{utc} 3600"))
        );
        assert_eq!(read("2026-11-26 08:00+01:00"), Some(format!("{utc} 3600")));
        assert_eq!(read(utc), Some(format!("{utc} 0")));
        for text in [
            "",
            "2026-11-26",
            "2026-11-26T08:00:00",
            "thu 08:00",
            "26/11/2026 8:00",
        ] {
            assert_eq!(read(text), None, "{text}");
        }
    }
}
