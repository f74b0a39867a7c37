//! What moments and days may be written as, and what is refused.

use jiff::ZonedDateTime;
use jiff::civil::date;
use jiff::tz::TimeZone;
use proptest::prelude::{any, prop_assert, prop_assert_eq, proptest};

use super::{Toward, day, end_of_day, last_day, moment};

/// Wednesday 25 November 2026, 14:30, in a zone one hour ahead of UTC with summer time.
fn now() -> ZonedDateTime {
    in_zone(TimeZone::posix("CET-1CEST,M3.5.0,M10.5.0/3").unwrap())
}

fn in_zone(zone: TimeZone) -> ZonedDateTime {
    let at = date(2026, 11, 25).at(14, 30, 0, 0);
    at.to_zoned_datetime(zone).unwrap()
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
        ("+3 days 08:00", "2026-11-28 08:00:00 +01:00"),
        ("+3 days at 8am", "2026-11-28 08:00:00 +01:00"),
        ("in 2 weeks 08:15", "2026-12-09 08:15:00 +01:00"),
        ("2 days ago 17:00", "2026-11-23 17:00:00 +01:00"),
        ("+1 day 2 h", "2026-11-26 16:30:00 +01:00"),
        ("+90 min", "2026-11-25 16:00:00 +01:00"),
        ("-1 h 30 min", "2026-11-25 13:00:00 +01:00"),
        ("-2d", "2026-11-23 14:30:00 +01:00"),
        ("-2 days", "2026-11-23 14:30:00 +01:00"),
        ("2 days ago", "2026-11-23 14:30:00 +01:00"),
        ("2h ago", "2026-11-25 12:30:00 +01:00"),
        ("in 3 days", "2026-11-28 14:30:00 +01:00"),
        ("+1 week", "2026-12-02 14:30:00 +01:00"),
        ("tomorrow", "2026-11-26 08:00:00 +01:00"),
        ("tomorrow 8am", "2026-11-26 08:00:00 +01:00"),
        ("tomorrow at 8 am", "2026-11-26 08:00:00 +01:00"),
        ("8:30pm tomorrow", "2026-11-26 20:30:00 +01:00"),
        ("12am tomorrow", "2026-11-26 00:00:00 +01:00"),
        ("12pm tomorrow", "2026-11-26 12:00:00 +01:00"),
        ("tomorrow morning", "2026-11-26 08:00:00 +01:00"),
        ("friday noon", "2026-11-27 12:00:00 +01:00"),
        ("26 nov 8.30", "2026-11-26 08:30:00 +01:00"),
        ("Nov 26, 2026 08:00", "2026-11-26 08:00:00 +01:00"),
        ("26th november", "2026-11-26 08:00:00 +01:00"),
        ("4.12. 09:00", "2026-12-04 09:00:00 +01:00"),
        ("04.12.2026 09:00", "2026-12-04 09:00:00 +01:00"),
        ("26/11/2026 08:00", "2026-11-26 08:00:00 +01:00"),
        ("11/26 08:00", "2026-11-26 08:00:00 +01:00"),
        ("2026-11-26", "2026-11-26 08:00:00 +01:00"),
        ("2026-11-26 8am", "2026-11-26 08:00:00 +01:00"),
        ("10h", "2026-11-26 10:00:00 +01:00"),
    ] {
        assert_eq!(ahead(text), expected, "{text}");
    }
}

#[test]
fn a_weekday_is_the_next_one_for_a_booking_and_the_last_one_for_a_report() {
    for (text, expected) in [
        ("thu 08:00", "2026-11-26 08:00:00 +01:00"),
        ("thursday", "2026-11-26 08:00:00 +01:00"),
        ("tuesday", "2026-12-01 08:00:00 +01:00"),
        ("next monday", "2026-11-30 08:00:00 +01:00"),
        ("next wednesday 8am", "2026-12-02 08:00:00 +01:00"),
        ("wednesday 16:00", "2026-11-25 16:00:00 +01:00"),
        ("wed 14:00", "2026-12-02 14:00:00 +01:00"),
        ("wed", "2026-12-02 08:00:00 +01:00"),
        ("today", "2026-11-25 08:00:00 +01:00"),
    ] {
        assert_eq!(ahead(text), expected, "{text}");
    }
    for (text, expected) in [
        ("thu 08:00", "2026-11-19 08:00:00 +01:00"),
        ("wed 14:00", "2026-11-25 14:00:00 +01:00"),
        ("wed 16:00", "2026-11-18 16:00:00 +01:00"),
        ("last friday", "2026-11-20 17:00:00 +01:00"),
        ("monday", "2026-11-23 17:00:00 +01:00"),
        ("yesterday", "2026-11-24 17:00:00 +01:00"),
        ("today", "2026-11-25 14:30:00 +01:00"),
    ] {
        assert_eq!(back(text), expected, "{text}");
    }
}

#[test]
fn a_time_without_a_day_is_the_nearest() {
    assert_eq!(ahead("16:45"), "2026-11-25 16:45:00 +01:00");
    assert_eq!(ahead("8am"), "2026-11-26 08:00:00 +01:00");
    assert_eq!(back("16:45"), "2026-11-24 16:45:00 +01:00");
    assert_eq!(back("14:10"), "2026-11-25 14:10:00 +01:00");
}

#[test]
fn what_is_not_understood_is_refused_with_the_accepted_forms() {
    for text in [
        "",
        "soon",
        "08",
        "tomorrow 8",
        "tomorrow 25:00",
        "tomorrow 13pm",
        "2026-13-01 08:00",
        "2026-13-40",
        "31/02 08:00",
        "tomorrow tuesday",
        "tomorrow 8:0",
        "mon tue 08:00",
        "26 nov 27 nov",
    ] {
        let why = ahead(text);
        assert!(why.contains("tomorrow 08:00"), "{text}: {why}");
    }
    assert!(ahead("tomorrow 25:00").contains("'25:00'"));
    assert!(ahead("2026-13-40").contains("'2026-13-40'"));
    assert!(ahead("+2 m").contains("unclear"));
    assert!(ahead("+2").contains("no unit"));
}

/// From memory: the order in which dates are written in these countries.
#[test]
fn a_date_in_two_numbers_goes_by_the_zone_or_is_offered_both_ways() {
    let in_zone = |name: &str, text: &str| {
        let now = in_zone(TimeZone::get(name).unwrap());
        moment(text, &now, Toward::Ahead).map(|at| at.date().to_string())
    };
    assert_eq!(
        in_zone("Europe/Vienna", "4/12 09:00"),
        Ok("2026-12-04".to_owned())
    );
    assert_eq!(
        in_zone("America/Chicago", "12/4 9am"),
        Ok("2026-12-04".to_owned())
    );
    assert_eq!(
        in_zone("America/Chicago", "4/12 09:00"),
        Ok("2027-04-12".to_owned())
    );
    let both = in_zone("UTC", "4/12 09:00").unwrap_err();
    assert!(
        both.contains("4 Dec 2026") && both.contains("12 Apr 2027"),
        "{both}"
    );
    assert!(both.contains("'4 Dec'"), "{both}");
    for text in ["26/11 09:00", "11/26 09:00"] {
        assert_eq!(in_zone("UTC", text), Ok("2026-11-26".to_owned()), "{text}");
    }
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
        ("next wed", date(2026, 12, 2)),
        ("2027-03-31", date(2027, 3, 31)),
        ("31.3.2027", date(2027, 3, 31)),
        ("31 Mar 2027", date(2027, 3, 31)),
        ("+2 days", date(2026, 11, 27)),
        ("+7d", date(2026, 12, 2)),
    ] {
        assert_eq!(day(text, &now()), Ok(expected), "{text}");
    }
    for text in [
        "",
        "2027-02-30",
        "2027-03",
        "later",
        "tomorrow 08:00",
        "08:00",
    ] {
        assert!(
            day(text, &now()).unwrap_err().contains("2026-11-26"),
            "{text}"
        );
    }
}

#[test]
fn a_month_on_a_bottle_is_its_last_day() {
    for text in ["2027-02", "02/2027", "2.2027", "feb 2027", "Feb/2027"] {
        assert_eq!(last_day(text, &now()), Ok(date(2027, 2, 28)), "{text}");
    }
    assert_eq!(last_day("2027-02-03", &now()), Ok(date(2027, 2, 3)));
    assert!(last_day("2027", &now()).is_err());
}

#[test]
fn through_a_day_means_to_its_end() {
    assert_eq!(
        shown(end_of_day("fri", &now())),
        "2026-11-27 23:59:59 +01:00"
    );
}

proptest! {
    /// What screens show of a moment can be typed again.
    #[test]
    fn a_moment_is_read_back_as_it_is_shown(minutes in 0_i64..60 * 24 * 366 * 20) {
        let zone = now().time_zone().clone();
        let from = date(2020, 1, 1).at(0, 0, 0, 0).to_zoned_datetime(TimeZone::UTC).unwrap();
        let at = from.timestamp() + jiff::SignedDuration::from_mins(minutes);
        let told = at.to_zoned_datetime(zone).strftime("%a %-d %b %Y %H:%M").to_string();
        match moment(&told, &now(), Toward::Ahead) {
            Ok(read) => prop_assert_eq!(read.strftime("%a %-d %b %Y %H:%M").to_string(), told),
            Err(why) => prop_assert!(why.contains("comes twice"), "{}", why),
        }
    }

    #[test]
    fn no_text_makes_it_fall_over(text in any::<String>(), near in "[0-9a-z :./+-]{0,20}") {
        for text in [&text, &near] {
            for toward in [Toward::Ahead, Toward::Back] {
                let _ = moment(text, &now(), toward);
            }
            let _ = day(text, &now());
            let _ = last_day(text, &now());
        }
    }
}
