//! Moments and days as people write them, in the system's time zone: `tuesday`, `8am`, `yesterday 17:00`,
//! `4/12 09:00`, `2h ago`.
//!
//! It serves `--start`, `--done`, `--through` and `--expires`. What could be two days is refused with both
//! readings, and a local time that the clocks skip or show twice with the reason. The present moment is an
//! argument.

mod order;
mod words;

use jiff::civil::{Date, DateTime, Time, time};
use jiff::tz::AmbiguousOffset;
use jiff::{SignedDuration, Timestamp, ToSpan as _, ZonedDateTime};

use fettlebook_quantity::parse_seconds;

use words::{Said, Unread};

/// How a moment may be written.
pub(crate) const MOMENT_FORMS: &str = "now, 'today 14:30', 'tomorrow 08:00', thu, 'next monday 8am', \
     '26 Nov 08:00', '2026-11-26 08:00', '+2 days' or '2h ago'";
/// How a day may be written.
pub(crate) const DAY_FORMS: &str = "today, tomorrow, thu, '26 Nov', 2026-11-26 or '+2 days'";
/// When a job starts of which only the day is said.
const START_OF_WORK: Time = time(8, 0, 0, 0);
/// When something happened of which only the day is said.
const END_OF_WORK: Time = time(17, 0, 0, 0);

/// Which way a bare weekday is looked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Toward {
    /// What is to come: bookings.
    Ahead,
    /// What has been: reports.
    Back,
}

/// Reads a moment. Of a day without a time of day it is 08:00 where it is to come and 17:00 where it has
/// been; of a time without a day the nearest such day.
///
/// # Errors
/// A sentence that says what was wrong, with the accepted forms.
pub(crate) fn moment(
    text: &str,
    now: &ZonedDateTime,
    toward: Toward,
) -> Result<ZonedDateTime, String> {
    let text = text.trim();
    let lower = text.to_lowercase();
    if matches!(lower.as_str(), "now" | "just now") {
        return Ok(now.clone());
    }
    if let Ok(fixed) = text.parse::<Timestamp>() {
        return Ok(fixed.to_zoned_datetime(now.time_zone().clone()));
    }
    if let Some(shifted) = shifted(&lower, now) {
        return shifted;
    }
    if let Some(written) = iso(text) {
        return local(written, text, now);
    }
    let mut said = words::read(&lower, now, toward).map_err(|why| told(why, text, MOMENT_FORMS))?;
    if toward == Toward::Ahead && said.day.is_some() && said.time.is_none() {
        // A weekday is today's only while its work has not begun.
        let with_time = format!("{lower} {}", START_OF_WORK.strftime("%H:%M"));
        said = words::read(&with_time, now, toward).unwrap_or(said);
    }
    let day = match (said.day, said.time) {
        (Some(day), _) => day,
        (None, Some(at)) => nearest_day(at, now, toward),
        (None, None) => return Err(unknown(text, "a time", MOMENT_FORMS)),
    };
    let at = said.time.unwrap_or_else(|| match toward {
        Toward::Ahead => START_OF_WORK,
        // What happened today happened by now.
        Toward::Back if day == now.date() => now.time().min(END_OF_WORK),
        Toward::Back => END_OF_WORK,
    });
    local(day.to_datetime(at), text, now)
}

/// A date and a time by ISO 8601, with or without the `T`.
fn iso(text: &str) -> Option<DateTime> {
    let is_one = text.starts_with(|c: char| c.is_ascii_digit()) && text.contains(':');
    let written = text.parse::<DateTime>().ok().filter(|_| is_one);
    written.filter(|_| text.contains('-') && !text.contains('/'))
}

/// The nearest day on which a time of day is still to come, or has been.
fn nearest_day(at: Time, now: &ZonedDateTime, toward: Toward) -> Date {
    let today = now.date();
    let days = match toward {
        Toward::Ahead if at <= now.time() => 1,
        Toward::Back if at > now.time() => -1,
        Toward::Ahead | Toward::Back => 0,
    };
    today.saturating_add(days.days())
}

/// Reads a day.
///
/// # Errors
/// A sentence that says what was wrong, with the accepted forms.
pub(crate) fn day(text: &str, now: &ZonedDateTime) -> Result<Date, String> {
    let lower = text.trim().to_lowercase();
    if let Some(days) = words::shift_in_days(&lower) {
        let moved = now.date().checked_add(days.days());
        return moved.map_err(|_| unknown(text, "a day", DAY_FORMS));
    }
    match words::read(&lower, now, Toward::Ahead) {
        Ok(Said {
            day: Some(day),
            time: None,
        }) => Ok(day),
        Ok(_) => Err(unknown(text, "a day", DAY_FORMS)),
        Err(why) => Err(told(why, text, DAY_FORMS)),
    }
}

/// Reads the last day of something, as it is printed on a bottle: a day, or a month, which is then its last
/// day.
///
/// # Errors
/// As [`day`].
pub(crate) fn last_day(text: &str, now: &ZonedDateTime) -> Result<Date, String> {
    match words::month(&text.trim().to_lowercase()) {
        Some(month) => Ok(month.last_of_month()),
        None => day(text, now),
    }
}

/// The last second of a day, in the system's time zone.
///
/// # Errors
/// As [`day`].
pub(crate) fn end_of_day(text: &str, now: &ZonedDateTime) -> Result<ZonedDateTime, String> {
    let date = day(text, now)?;
    local(date.at(23, 59, 59, 0), text, now)
}

/// `+2 days` and `in 2 days` keep the clock time, `+2 days 08:00` says it, `+90 min` and `2h ago` count the time that passes.
fn shifted(text: &str, now: &ZonedDateTime) -> Option<Result<ZonedDateTime, String>> {
    if let Some(days) = words::shift_in_days(text) {
        let moved = now.checked_add(days.days());
        return Some(moved.map_err(|_| unknown(text, "a time", MOMENT_FORMS)));
    }
    if let Some((days, rest)) = words::shift_with_time(text) {
        return Some(shifted_to(text, days, rest, now));
    }
    let (back, span) = words::span(text)?;
    let seconds = match parse_seconds(span) {
        Ok(seconds) => seconds.s(),
        Err(error) => return Some(Err(format!("{error}."))),
    };
    let seconds = if back { -seconds } else { seconds };
    let moved = now.checked_add(SignedDuration::from_secs(seconds));
    Some(moved.map_err(|_| unknown(text, "a time", MOMENT_FORMS)))
}

/// So many days from now, at a time of that day.
fn shifted_to(
    text: &str,
    days: i64,
    rest: &str,
    now: &ZonedDateTime,
) -> Result<ZonedDateTime, String> {
    let not_read = || unknown(text, "a time", MOMENT_FORMS);
    let said =
        words::read(rest, now, Toward::Ahead).map_err(|why| told(why, text, MOMENT_FORMS))?;
    let (None, Some(at)) = (said.day, said.time) else {
        return Err(not_read());
    };
    let day = now
        .date()
        .checked_add(days.days())
        .map_err(|_| not_read())?;
    local(day.to_datetime(at), text, now)
}

fn local(written: DateTime, text: &str, now: &ZonedDateTime) -> Result<ZonedDateTime, String> {
    let there = now.time_zone().to_ambiguous_zoned_datetime(written);
    match there.offset() {
        AmbiguousOffset::Unambiguous { .. } => there
            .unambiguous()
            .map_err(|_| unknown(text, "a time", MOMENT_FORMS)),
        AmbiguousOffset::Gap { .. } => Err(format!(
            "'{text}' does not exist here: the clocks are put forward over it. Write another time."
        )),
        AmbiguousOffset::Fold { .. } => Err(format!(
            "'{text}' comes twice here: the clocks are put back over it. Write it with its offset \
             from UTC, such as 2026-10-25T02:30:00+01:00."
        )),
    }
}

/// Why a text was not read, as a sentence.
fn told(why: Unread, text: &str, forms: &str) -> String {
    match why {
        Unread::Unknown(word) if word == text.to_lowercase() => {
            format!("'{text}' is not a time that is understood; write for example {forms}.")
        }
        Unread::Unknown(word) => {
            format!("'{word}' of '{text}' is not understood as a time; write for example {forms}.")
        }
        Unread::NoTime(word) => format!(
            "'{word}' of '{text}' is no time of day, which goes from 00:00 to 23:59; write for example {forms}."
        ),
        Unread::NoDate(word) => {
            format!("'{word}' is no day of a calendar; write for example {forms}.")
        }
        Unread::TwoDays(one, other) => format!(
            "'{text}' could be {} or {}; write the month in letters, for example '{}'.",
            one.strftime("%-d %b %Y"),
            other.strftime("%-d %b %Y"),
            one.strftime("%-d %b"),
        ),
    }
}

fn unknown(text: &str, what: &str, forms: &str) -> String {
    format!("'{text}' is not {what} that is understood; write for example {forms}.")
}

/// A moment as the contract carries it.
pub(crate) fn stamp(moment: &ZonedDateTime) -> prost_types::Timestamp {
    let moment = moment.timestamp();
    prost_types::Timestamp {
        seconds: moment.as_second(),
        nanos: moment.subsec_nanosecond(),
    }
}

#[cfg(test)]
mod tests;
