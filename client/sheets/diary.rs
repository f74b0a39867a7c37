//! `jobs.csv`: the diary, each start with its offset from UTC.
//!
//! It serves export and import. The offset says which day it was there, so it is never left out.

use fettlebook_contract::v1::Job;
use jiff::Timestamp;
use jiff::fmt::temporal::{Pieces, PiecesOffset};
use jiff::tz::{Offset, TimeZone};

use super::Read;
use super::cell::excerpt;
use super::sheet::Sheet;
use super::table::Source;
use crate::fault::Fault;

/// The column of the start.
const START: &str = "start_time";

fn sheet() -> Result<Sheet<Job>, Fault> {
    // The start holds the offset; the rest is the book's own.
    let sheet = Sheet::new("job", &[], |name| {
        !matches!(name, "utc_offset_s" | "last_seq")
    })?;
    Ok(sheet.led_by(&[START]))
}

/// The file of jobs.
///
/// # Errors
/// When one cannot be written.
pub(super) fn written(jobs: &[Job]) -> Result<String, Fault> {
    sheet()?.written_led(jobs.iter().map(|job| (vec![start(job)], job)))
}

/// `2026-11-26T08:00:00+01:00`; empty when there is none.
fn start(job: &Job) -> String {
    let told = job.start_time.as_ref().and_then(|stamp| {
        let moment = Timestamp::new(stamp.seconds, stamp.nanos).ok()?;
        let offset = i32::try_from(job.utc_offset_s).ok()?;
        let zone = TimeZone::fixed(Offset::from_seconds(offset).ok()?);
        let local = moment.to_zoned_datetime(zone);
        Some(local.strftime("%Y-%m-%dT%H:%M:%S%:z").to_string())
    });
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
        let text = before.first().map(String::as_str).unwrap_or_default();
        match moment(text) {
            Some((moment, offset)) => {
                job.start_time = Some(prost_types::Timestamp {
                    seconds: moment.as_second(),
                    nanos: moment.subsec_nanosecond(),
                });
                job.utc_offset_s = i64::from(offset.seconds());
            }
            None => {
                let text = format!(
                    "'{}' is not a time with its offset from UTC, such as \
                     2026-11-26T08:00:00+01:00.",
                    excerpt(text)
                );
                source.wrong(file, line, START, text);
            }
        }
        jobs.push(read.turned(|(_, job)| job));
    }
    Ok(jobs)
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
