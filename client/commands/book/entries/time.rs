//! From when until when entries are listed, as people say it: a day alone means all of it, a weekday the last
//! one.

use jiff::ZonedDateTime;
use jiff::civil::Date;
use jiff::{Span, ToSpan as _};
use prost_types::Timestamp;

use super::Entries;
use crate::fault::Fault;
use crate::when::{self, Toward, stamp};

/// The moment from which on, and the one before which; nothing for all.
///
/// # Errors
/// When one is not understood, or the end comes before the beginning.
pub(super) fn range(
    args: &Entries,
    now: &ZonedDateTime,
) -> Result<(Option<Timestamp>, Option<Timestamp>), Fault> {
    let since = match (&args.since, args.today) {
        (Some(text), _) => Some(text.as_str()),
        (None, true) => Some("today"),
        (None, false) => None,
    };
    let read = |option: &str, text: Option<&str>, days: Span| {
        text.map(|text| moment(text, now, days).map_err(|why| Fault::usage(option, why)))
            .transpose()
    };
    let from = read("--since", since, Span::new())?;
    let before = read("--until", args.until.as_deref(), 1.day())?;
    if let (Some(from), Some(before)) = (&from, &before)
        && from >= before
    {
        let typed = (since.unwrap_or_default(), args.until.as_deref());
        return Err(ends_first(typed.0, typed.1.unwrap_or_default()));
    }
    Ok((from.as_ref().map(stamp), before.as_ref().map(stamp)))
}

/// A moment, or of a day alone its beginning after so many days.
fn moment(text: &str, now: &ZonedDateTime, days: Span) -> Result<ZonedDateTime, String> {
    let back = |day: Date| match day > now.date() {
        true => day.saturating_sub(7.days()),
        false => day,
    };
    let begins = when::day(text, now).ok().and_then(|day| {
        let midnight = back(day).saturating_add(days).at(0, 0, 0, 0);
        midnight.to_zoned_datetime(now.time_zone().clone()).ok()
    });
    match begins {
        Some(begins) => Ok(begins),
        None => when::moment(text, now, Toward::Back),
    }
}

fn ends_first(since: &str, until: &str) -> Fault {
    let message =
        format!("There is no time since '{since}' and until '{until}': the end comes first.");
    let mut fault = Fault::usage("--until", message);
    fault.todo =
        "Give --until a later day or time than --since, or leave one of them out.".to_owned();
    fault.with_example("fettle book entries --since yesterday --until today")
}

#[cfg(test)]
mod tests {
    use fettlebook_contract::v1::{ListEntriesRequest, WatchEntriesRequest};
    use jiff::ZonedDateTime;
    use prost_types::Timestamp;

    use super::Entries;
    use crate::args::Cli;
    use crate::commands::Command;
    use crate::fault::Fault;

    /// What is asked by these words; in one word `_` is a blank.
    fn typed(words: &str) -> Entries {
        let words = ["fettle", "entries"].into_iter().chain(words.split(' '));
        let words: Vec<_> = words.map(|word| word.replace('_', " ").into()).collect();
        let (cli, _) = Cli::read(&words, clap::ColorChoice::Never).unwrap();
        match cli.command {
            Some(Command::Entries(entries)) => entries,
            other => panic!("{other:?}"),
        }
    }

    fn listed(words: &str) -> Result<ListEntriesRequest, Fault> {
        let now: ZonedDateTime = "2026-06-04T15:30:00+02:00[Europe/Vienna]".parse().unwrap();
        typed(words).listed(&now)
    }

    fn stamp(text: &str) -> Option<Timestamp> {
        let at: jiff::Timestamp = text.parse().unwrap();
        Some(Timestamp {
            seconds: at.as_second(),
            nanos: 0,
        })
    }

    #[test]
    fn a_day_is_all_of_it_and_a_weekday_the_last_one() {
        for (words, from, before) in [
            ("--today", Some("2026-06-03T22:00:00Z"), None),
            ("--since yesterday", Some("2026-06-02T22:00:00Z"), None),
            ("--until yesterday", None, Some("2026-06-03T22:00:00Z")),
            // The fourth is a Thursday.
            (
                "--since fri --until mon",
                Some("2026-05-28T22:00:00Z"),
                Some("2026-06-01T22:00:00Z"),
            ),
            (
                "--since mon_08:00 --until tue_12:00",
                Some("2026-06-01T06:00:00Z"),
                Some("2026-06-02T10:00:00Z"),
            ),
        ] {
            let asked = listed(words).unwrap();
            assert_eq!(asked.from_time, from.and_then(stamp), "{words}");
            assert_eq!(asked.before_time, before.and_then(stamp), "{words}");
        }
    }

    #[test]
    fn what_ends_before_it_begins_is_refused_with_both() {
        let fault = listed("--since today --until yesterday").unwrap_err();
        assert_eq!(fault.exit.code(), 2);
        let said = "There is no time since 'today' and until 'yesterday': the end comes first.";
        assert_eq!(fault.message, said);
        assert!(listed("--since today --until today").is_ok());
    }

    #[test]
    fn what_is_listed_and_what_is_followed_are_for_the_service_to_choose() {
        let asked = listed("--about P-03 --by van-a --flagged --newest --after 7").unwrap();
        let wanted = ListEntriesRequest {
            subject: "P-03".to_owned(),
            by: "van-a".to_owned(),
            flagged: true,
            newest_first: true,
            after_seq: 7,
            ..ListEntriesRequest::default()
        };
        assert_eq!(asked, wanted);
        let followed = typed("--follow --job red-city --by van-a --flagged --after 7").followed();
        let wanted = WatchEntriesRequest {
            subject: "red-city".to_owned(),
            by: "van-a".to_owned(),
            flagged: true,
            after_seq: 7,
        };
        assert_eq!(followed, wanted);
    }
}
