//! Moments and days as people write them, in the system's time zone.
//!
//! It serves `--start`, `--done`, `--through` and `--expires`. Nothing is guessed: what is not one of
//! the accepted forms, and a local time that the clocks skip or show twice, is refused with the
//! forms. The present moment is an argument.

use jiff::civil::{Date, DateTime, Time, Weekday};
use jiff::tz::AmbiguousOffset;
use jiff::{SignedDuration, Timestamp, ToSpan as _, ZonedDateTime};

use fettlebook_quantity::parse_seconds;

/// How a moment may be written.
pub(crate) const MOMENT_FORMS: &str = "now, today 14:30, tomorrow 08:00, thu 08:00, \
     2026-11-26 08:00, 2026-11-26T08:00, +2 days, -90 min, 2026-11-26T08:00:00+01:00";
/// How a day may be written.
pub(crate) const DAY_FORMS: &str = "today, tomorrow, thu, 2026-11-26, +2 days";

/// Which way a bare weekday is looked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Toward {
    /// What is to come: bookings.
    Ahead,
    /// What has been: reports.
    Back,
}

/// Reads a moment.
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
    if lower == "now" {
        return Ok(now.clone());
    }
    if let Ok(fixed) = text.parse::<Timestamp>() {
        return Ok(fixed.to_zoned_datetime(now.time_zone().clone()));
    }
    if let Some(shifted) = shifted(&lower, now) {
        return shifted;
    }
    if lower.starts_with(|c: char| c.is_ascii_digit()) {
        let written = text
            .parse::<DateTime>()
            .ok()
            .filter(|_| text.contains(':'))
            .ok_or_else(|| unknown_moment(text))?;
        return local(written, text, now);
    }
    let (day_word, time_word) = lower
        .split_once(char::is_whitespace)
        .ok_or_else(|| unknown_moment(text))?;
    let time = clock_time(time_word.trim()).ok_or_else(|| unknown_moment(text))?;
    let day = match named_day(day_word, now).ok_or_else(|| unknown_moment(text))? {
        Named::Day(day) => day,
        Named::Weekday(weekday) => nearest(weekday, time, now, toward),
    };
    local(day.to_datetime(time), text, now)
}

/// Reads a day.
///
/// # Errors
/// A sentence that says what was wrong, with the accepted forms.
pub(crate) fn day(text: &str, now: &ZonedDateTime) -> Result<Date, String> {
    let lower = text.trim().to_lowercase();
    if let Some(days) = lower.strip_prefix('+').and_then(whole_days) {
        return now
            .date()
            .checked_add(days.days())
            .map_err(|_| unknown_day(text));
    }
    if lower.len() == "2026-11-26".len()
        && let Ok(date) = lower.parse::<Date>()
    {
        return Ok(date);
    }
    match named_day(&lower, now) {
        Some(Named::Day(date)) => Ok(date),
        Some(Named::Weekday(weekday)) => Ok(nearest(weekday, Time::midnight(), now, Toward::Ahead)),
        None => Err(unknown_day(text)),
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

enum Named {
    Day(Date),
    Weekday(Weekday),
}

fn named_day(word: &str, now: &ZonedDateTime) -> Option<Named> {
    let today = now.date();
    let day = match word {
        "today" => Named::Day(today),
        "tomorrow" => Named::Day(today.tomorrow().ok()?),
        "yesterday" => Named::Day(today.yesterday().ok()?),
        _ => Named::Weekday(weekday(word)?),
    };
    Some(day)
}

fn weekday(word: &str) -> Option<Weekday> {
    Some(match word {
        "mon" | "monday" => Weekday::Monday,
        "tue" | "tuesday" => Weekday::Tuesday,
        "wed" | "wednesday" => Weekday::Wednesday,
        "thu" | "thursday" => Weekday::Thursday,
        "fri" | "friday" => Weekday::Friday,
        "sat" | "saturday" => Weekday::Saturday,
        "sun" | "sunday" => Weekday::Sunday,
        _ => return None,
    })
}

/// The nearest such weekday; today counts while its time is still to come, or already past.
fn nearest(weekday: Weekday, time: Time, now: &ZonedDateTime, toward: Toward) -> Date {
    let today = now.date();
    let past = now.weekday().until(weekday);
    let ahead = i64::from(past);
    let days = match toward {
        Toward::Ahead if ahead == 0 && time != Time::midnight() && time <= now.time() => 7,
        Toward::Ahead => ahead,
        Toward::Back if ahead == 0 && time <= now.time() => 0,
        Toward::Back => ahead - 7,
    };
    today.saturating_add(days.days())
}

/// `HH:MM`, in 24 hours.
fn clock_time(word: &str) -> Option<Time> {
    let (hour, minute) = word.split_once(':')?;
    if minute.len() != 2 || hour.is_empty() || hour.len() > 2 {
        return None;
    }
    Time::new(hour.parse().ok()?, minute.parse().ok()?, 0, 0).ok()
}

/// `+2 days` keeps the clock time, `+90 min` counts the time that passes.
fn shifted(text: &str, now: &ZonedDateTime) -> Option<Result<ZonedDateTime, String>> {
    let (back, span) = match (text.strip_prefix('+'), text.strip_prefix('-')) {
        (Some(span), _) => (false, span.trim()),
        (None, Some(span)) => (true, span.trim()),
        (None, None) => return None,
    };
    let moved = if let Some(days) = whole_days(span) {
        let days = if back { -days } else { days };
        now.checked_add(days.days())
    } else {
        let seconds = match parse_seconds(span) {
            Ok(seconds) => seconds.s(),
            Err(error) => return Some(Err(format!("{error}."))),
        };
        let seconds = if back { -seconds } else { seconds };
        now.checked_add(SignedDuration::from_secs(seconds))
    };
    Some(moved.map_err(|_| unknown_moment(text)))
}

/// `2 days`, at most ten years of them.
fn whole_days(span: &str) -> Option<i64> {
    let number = span
        .strip_suffix("days")
        .or_else(|| span.strip_suffix("day"))?;
    number
        .trim()
        .parse::<i64>()
        .ok()
        .filter(|days| (0..=3_660).contains(days))
}

fn local(written: DateTime, text: &str, now: &ZonedDateTime) -> Result<ZonedDateTime, String> {
    let there = now.time_zone().to_ambiguous_zoned_datetime(written);
    match there.offset() {
        AmbiguousOffset::Unambiguous { .. } => {
            there.unambiguous().map_err(|_| unknown_moment(text))
        }
        AmbiguousOffset::Gap { .. } => Err(format!(
            "'{text}' does not exist here: the clocks are put forward over it. Write another time."
        )),
        AmbiguousOffset::Fold { .. } => Err(format!(
            "'{text}' comes twice here: the clocks are put back over it. Write it with its offset \
             from UTC, such as 2026-10-25T02:30:00+01:00."
        )),
    }
}

fn unknown_moment(text: &str) -> String {
    format!("'{text}' is not a time that is understood; write for example {MOMENT_FORMS}.")
}

fn unknown_day(text: &str) -> String {
    format!("'{text}' is not a day that is understood; write for example {DAY_FORMS}.")
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
mod tests {
    use super::{Toward, day, end_of_day, moment};
    use jiff::ZonedDateTime;
    use jiff::civil::date;
    use jiff::tz::TimeZone;

    /// Wednesday 25 November 2026, 14:30, in a zone one hour ahead of UTC with summer time.
    fn now() -> ZonedDateTime {
        date(2026, 11, 25)
            .at(14, 30, 0, 0)
            .to_zoned_datetime(TimeZone::posix("CET-1CEST,M3.5.0,M10.5.0/3").unwrap())
            .unwrap()
    }

    fn ahead(text: &str) -> String {
        shown(moment(text, &now(), Toward::Ahead))
    }

    fn back(text: &str) -> String {
        shown(moment(text, &now(), Toward::Back))
    }

    fn shown(read: Result<ZonedDateTime, String>) -> String {
        read.map_or_else(
            |why| why,
            |z| z.strftime("%Y-%m-%d %H:%M:%S %:z").to_string(),
        )
    }

    #[test]
    fn a_moment_is_read_in_every_accepted_form() {
        for (text, expected) in [
            ("now", "2026-11-25 14:30:00 +01:00"),
            ("today 16:00", "2026-11-25 16:00:00 +01:00"),
            ("Tomorrow 8:00", "2026-11-26 08:00:00 +01:00"),
            ("yesterday 17:00", "2026-11-24 17:00:00 +01:00"),
            ("2026-11-26 08:00", "2026-11-26 08:00:00 +01:00"),
            ("2026-11-26T08:00", "2026-11-26 08:00:00 +01:00"),
            ("2026-11-26T08:00:00Z", "2026-11-26 09:00:00 +01:00"),
            ("2026-07-01T08:00:00+02:00", "2026-07-01 08:00:00 +02:00"),
            ("+2 days", "2026-11-27 14:30:00 +01:00"),
            ("+90 min", "2026-11-25 16:00:00 +01:00"),
            ("-1 h 30 min", "2026-11-25 13:00:00 +01:00"),
        ] {
            assert_eq!(ahead(text), expected, "{text}");
        }
    }

    #[test]
    fn a_weekday_is_the_next_one_for_a_booking_and_the_last_one_for_a_report() {
        assert_eq!(ahead("thu 08:00"), "2026-11-26 08:00:00 +01:00");
        assert_eq!(ahead("wednesday 16:00"), "2026-11-25 16:00:00 +01:00");
        assert_eq!(ahead("wed 14:00"), "2026-12-02 14:00:00 +01:00");
        assert_eq!(back("thu 08:00"), "2026-11-19 08:00:00 +01:00");
        assert_eq!(back("wed 14:00"), "2026-11-25 14:00:00 +01:00");
        assert_eq!(back("wed 16:00"), "2026-11-18 16:00:00 +01:00");
    }

    #[test]
    fn what_is_not_understood_is_refused_with_the_accepted_forms() {
        for text in [
            "",
            "soon",
            "thursday",
            "08:00",
            "tomorrow",
            "tomorrow 8",
            "tomorrow 25:00",
            "2026-11-26",
            "2026-13-01 08:00",
            "26/11/2026 08:00",
            "11-26 08:00",
            "tomorrow 8:0",
        ] {
            let why = ahead(text);
            assert!(why.contains("tomorrow 08:00"), "{text}: {why}");
        }
        assert!(ahead("+2 m").contains("unclear"));
        assert!(ahead("+2").contains("no unit"));
    }

    /// Source: the rule of the zone itself, last Sunday of March 02:00 to 03:00 and back on the last
    /// Sunday of October (Directive 2000/84/EC, articles 2 and 3).
    #[test]
    fn a_local_time_that_is_skipped_or_comes_twice_is_refused() {
        assert!(ahead("2027-03-28 02:30").contains("does not exist"));
        assert!(ahead("2027-10-31 02:30").contains("comes twice"));
        assert_eq!(ahead("2027-03-28 03:30"), "2027-03-28 03:30:00 +02:00");
    }

    #[test]
    fn a_day_is_read_in_every_accepted_form() {
        for (text, expected) in [
            ("today", date(2026, 11, 25)),
            ("tomorrow", date(2026, 11, 26)),
            ("wed", date(2026, 11, 25)),
            ("Friday", date(2026, 11, 27)),
            ("2027-03-31", date(2027, 3, 31)),
            ("+2 days", date(2026, 11, 27)),
        ] {
            assert_eq!(day(text, &now()), Ok(expected), "{text}");
        }
        for text in ["", "31.3.2027", "2027-02-30", "2027-03", "later"] {
            assert!(
                day(text, &now()).unwrap_err().contains("2026-11-26"),
                "{text}"
            );
        }
    }

    #[test]
    fn through_a_day_means_to_its_end() {
        assert_eq!(
            shown(end_of_day("fri", &now())),
            "2026-11-27 23:59:59 +01:00"
        );
    }
}
