//! The words of a moment: a day, a time of day, or both, in any order.

use jiff::ToSpan as _;
use jiff::ZonedDateTime;
use jiff::civil::{Date, Time, Weekday, time};

use super::Toward;
use super::order::{self, Order};

/// What was said.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Said {
    /// The day, where one was said.
    pub(super) day: Option<Date>,
    /// The time of day, where one was said.
    pub(super) time: Option<Time>,
}

/// Why it was not read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Unread {
    /// This is no word of a moment.
    Unknown(String),
    /// This is written as a time of day and is none.
    NoTime(String),
    /// This is written as a date and is none.
    NoDate(String),
    /// It could be either day.
    TwoDays(Date, Date),
}

/// Most days that are looked ahead or back.
const DAYS_MAX: i64 = 3_660;

/// Days to move by: `+2 days`, `-2d`, `in 2 days`, `2 days ago`, `+1 week`.
pub(super) fn shift_in_days(text: &str) -> Option<i64> {
    let (back, span) = span(text)?;
    let span = span.trim();
    let end = span.find(|c: char| !c.is_ascii_digit())?;
    let (digits, unit) = span.split_at_checked(end)?;
    let of_one = match unit.trim() {
        "d" | "day" | "days" => 1,
        "w" | "week" | "weeks" => 7,
        _ => return None,
    };
    let days = digits.parse::<i64>().ok()?.checked_mul(of_one)?;
    let days = if back { days.checked_neg()? } else { days };
    (-DAYS_MAX..=DAYS_MAX).contains(&days).then_some(days)
}

/// Days to move by and a time of that day: `+3 days 08:00`, `in 2 weeks at 8am`, `2 days ago 17:00`. What follows
/// the days has to look like a time of day, for a span may go on with hours.
pub(super) fn shift_with_time(text: &str) -> Option<(i64, &str)> {
    let is_part = |at: usize| text.get(at..).is_some_and(|rest| rest.starts_with(' '));
    let mut blanks = (0..text.len()).rev().filter(|at| is_part(*at));
    let (days, rest) = blanks.find_map(|at| {
        let (shift, rest) = text.split_at_checked(at)?;
        Some((shift_in_days(shift)?, rest.trim()))
    })?;
    let is_time = rest.contains(':') || rest.ends_with("am") || rest.ends_with("pm");
    is_time.then_some((days, rest))
}

/// A span from now: whether it goes back, and how long it is.
pub(super) fn span(text: &str) -> Option<(bool, &str)> {
    if let Some(span) = text.strip_prefix('+').or_else(|| text.strip_prefix("in ")) {
        return Some((false, span.trim()));
    }
    if let Some(span) = text.strip_prefix(['-', '−']) {
        return Some((true, span.trim()));
    }
    let span = text.strip_suffix("ago")?;
    Some((true, span.trim()))
}

/// Reads words in lower case.
pub(super) fn read(text: &str, now: &ZonedDateTime, toward: Toward) -> Result<Said, Unread> {
    let text = text.replace([',', ';'], " ").replace('\u{a0}', " ");
    let words: Vec<&str> = text
        .split_whitespace()
        .filter(|word| {
            !matches!(
                *word,
                "at" | "on" | "the" | "of" | "this" | "clock" | "o'clock"
            )
        })
        .collect();
    if words.is_empty() {
        return Err(Unread::Unknown(text.trim().to_owned()));
    }
    let mut reader = Reader {
        words: &words,
        now,
        toward,
        said: Said::default(),
        weekday: None,
    };
    while !reader.words.is_empty() {
        reader.step()?;
    }
    reader.end()
}

/// The first day of a month, where no day of it is said: `2027-03`, `03/2027`, `mar 2027`.
pub(super) fn month(text: &str) -> Option<Date> {
    let (one, other) = text.split_once(['-', '/', '.', ' '])?;
    let number = |text: &str| text.trim().parse::<i16>().ok();
    let is_year = |text: &str| text.trim().len() == 4;
    let (year, month) = match (is_year(one), is_year(other)) {
        (true, false) => (number(one)?, other),
        (false, true) => (number(other)?, one),
        _ => return None,
    };
    let month = match month_word(month.trim()) {
        Some(month) => month,
        None => i8::try_from(number(month)?).ok()?,
    };
    Date::new(year, month, 1).ok()
}

struct Reader<'a> {
    words: &'a [&'a str],
    now: &'a ZonedDateTime,
    toward: Toward,
    said: Said,
    /// A weekday, which is put once the time of day is known: `monday` may be today until then.
    weekday: Option<(Weekday, Nth)>,
}

/// Which of the weekdays of that name.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Nth {
    Nearest,
    /// After today.
    Next,
    /// Before today.
    Last,
}

impl<'a> Reader<'a> {
    /// Reads as many words as make a day or a time.
    fn step(&mut self) -> Result<(), Unread> {
        let (first, second, third) = (self.word(0), self.word(1), self.word(2));
        if self.said.day.is_none() && self.weekday.is_none_or(|_| weekday(first).is_none()) {
            if let Some(taken) = self.named_day(first, second) {
                self.take(taken);
                return Ok(());
            }
            if let Some((day, taken)) = self.month_in_letters(first, second, third)? {
                self.put(day, taken);
                return Ok(());
            }
            if let Some(day) = self.numeric_date(first)? {
                self.put(day, 1);
                return Ok(());
            }
        }
        if self.said.time.is_none() {
            let two = [first, second].concat();
            let both = clock_time(&two).filter(|_| is_half_of_day(second));
            if let Some((at, taken)) = both
                .map(|at| (at, 2))
                .or_else(|| clock_time(first).map(|at| (at, 1)))
            {
                self.said.time = Some(at.ok_or_else(|| Unread::NoTime(first.to_owned()))?);
                self.take(taken);
                return Ok(());
            }
        }
        Err(Unread::Unknown(first.to_owned()))
    }

    fn word(&self, at: usize) -> &'a str {
        self.words.get(at).copied().unwrap_or_default()
    }

    fn take(&mut self, count: usize) {
        self.words = self.words.get(count..).unwrap_or_default();
    }

    fn put(&mut self, day: Date, taken: usize) {
        self.said.day = Some(day);
        self.take(taken);
    }

    /// A day that goes by a name: how many words it took.
    fn named_day(&mut self, first: &str, second: &str) -> Option<usize> {
        if let Some(day) = near_day(first, self.now.date()) {
            self.said.day = Some(day);
            return Some(1);
        }
        let nth = match first {
            "next" | "coming" => Nth::Next,
            "last" | "past" => Nth::Last,
            _ => Nth::Nearest,
        };
        let (named, taken) = if nth == Nth::Nearest {
            (first, 1)
        } else {
            (second, 2)
        };
        self.weekday = Some((weekday(named)?, nth));
        Some(taken)
    }

    /// `26 nov`, `nov 26`, with a year behind it or without.
    fn month_in_letters(
        &self,
        first: &str,
        second: &str,
        third: &str,
    ) -> Result<Option<(Date, usize)>, Unread> {
        let (day, month) = match (month_word(first), month_word(second)) {
            (Some(month), _) => (second, month),
            (None, Some(month)) => (first, month),
            (None, None) => return Ok(None),
        };
        let Some(day) = day_of_month(day) else {
            return Ok(None);
        };
        let year = third.parse::<i16>().ok().filter(|_| third.len() == 4);
        let taken = if year.is_some() { 3 } else { 2 };
        let said = [first, second].join(" ");
        Ok(Some((self.date(year, month, day, &said)?, taken)))
    }

    /// `2026-11-26`, `26.11.2026`, `26/11`, `4/12`.
    fn numeric_date(&self, word: &str) -> Result<Option<Date>, Unread> {
        let trimmed = word.trim_end_matches('.');
        let Some(mark) = trimmed.chars().find(|c| matches!(c, '-' | '/' | '.')) else {
            return Ok(None);
        };
        let parts: Vec<&str> = trimmed.split(mark).collect();
        let plain = |part: &&str| {
            !part.is_empty() && part.len() <= 4 && part.bytes().all(|byte| byte.is_ascii_digit())
        };
        if !(2..=3).contains(&parts.len()) || !parts.iter().all(plain) {
            return Ok(None);
        }
        // `08.30` and `8.30` are times of day; a date in points has its year or a point behind it.
        if mark == '.' && parts.len() == 2 && trimmed.len() == word.len() {
            return Ok(None);
        }
        let number = |at: usize| parts.get(at).and_then(|part| part.parse::<i16>().ok());
        let small = |at: usize| number(at).and_then(|number| i8::try_from(number).ok());
        let none = || Unread::NoDate(word.to_owned());
        if parts.first().is_some_and(|year| year.len() == 4) {
            let (month, day) = (small(1).ok_or_else(none)?, small(2).ok_or_else(none)?);
            return self.date(number(0), month, day, word).map(Some);
        }
        let year = match parts.get(2) {
            None => None,
            Some(year) if year.len() == 2 => {
                Some(number(2).ok_or_else(none)?.saturating_add(2_000))
            }
            Some(_) => number(2),
        };
        let (one, other) = (small(0).ok_or_else(none)?, small(1).ok_or_else(none)?);
        let order = match mark {
            '.' => Order::DayFirst,
            _ => order::of(self.now.time_zone().iana_name()),
        };
        let day_first = self.date(year, other, one, word);
        let month_first = self.date(year, one, other, word);
        match (day_first, month_first, order) {
            (Ok(day), _, Order::DayFirst) | (_, Ok(day), Order::MonthFirst) => Ok(Some(day)),
            (Ok(one), Ok(other), Order::Unclear) if one != other => {
                Err(Unread::TwoDays(one, other))
            }
            (Ok(day), Err(_), _) | (Err(_), Ok(day), _) | (Ok(day), Ok(_), _) => Ok(Some(day)),
            (Err(why), Err(_), _) => Err(why),
        }
    }

    /// The date; without a year the nearest that is to come, or has been.
    fn date(&self, year: Option<i16>, month: i8, day: i8, said: &str) -> Result<Date, Unread> {
        let none = || Unread::NoDate(said.to_owned());
        let today = self.now.date();
        if let Some(year) = year {
            return Date::new(year, month, day).map_err(|_| none());
        }
        let near = [-1, 0, 1, 2, 4].into_iter().filter_map(|years: i16| {
            let year = today.year().checked_add(match self.toward {
                Toward::Ahead => years,
                Toward::Back => years.checked_neg()?,
            })?;
            Date::new(year, month, day).ok()
        });
        let mut near = near.filter(|date| match self.toward {
            Toward::Ahead => *date >= today,
            Toward::Back => *date <= today,
        });
        near.next().ok_or_else(none)
    }

    /// What was said, with its weekday found.
    fn end(self) -> Result<Said, Unread> {
        let Some((weekday, nth)) = self.weekday else {
            return Ok(self.said);
        };
        let today = self.now.date();
        let ahead = i64::from(self.now.weekday().until(weekday));
        let said = self.said;
        if let Some(day) = said.day {
            // A date that names its weekday too, as it is shown: the two must agree.
            if day.weekday() == weekday {
                return Ok(said);
            }
            return Err(Unread::NoDate(format!("{weekday:?} {day}")));
        }
        let is_past = said.time.is_none_or(|at| at <= self.now.time());
        let days = match (nth, self.toward) {
            (Nth::Next, _) if ahead == 0 => 7,
            (Nth::Last, _) => ahead - 7,
            (Nth::Nearest, Toward::Ahead) if ahead == 0 && said.time.is_some() && is_past => 7,
            (Nth::Next, _) | (Nth::Nearest, Toward::Ahead) => ahead,
            (Nth::Nearest, Toward::Back) if ahead == 0 && is_past => 0,
            (Nth::Nearest, Toward::Back) => ahead - 7,
        };
        let day = today.saturating_add(days.days());
        Ok(Said {
            day: Some(day),
            time: said.time,
        })
    }
}

/// A day that goes by its distance from today.
fn near_day(word: &str, today: Date) -> Option<Date> {
    match word {
        "today" | "tonight" => Some(today),
        "tomorrow" | "tmrw" | "tmw" => today.tomorrow().ok(),
        "yesterday" => today.yesterday().ok(),
        _ => None,
    }
}

fn weekday(word: &str) -> Option<Weekday> {
    let word = word.trim_end_matches('.');
    let word = word.strip_suffix("'s").unwrap_or(word);
    Some(match word {
        "mon" | "monday" => Weekday::Monday,
        "tue" | "tues" | "tuesday" => Weekday::Tuesday,
        "wed" | "weds" | "wednesday" => Weekday::Wednesday,
        "thu" | "thur" | "thurs" | "thursday" => Weekday::Thursday,
        "fri" | "friday" => Weekday::Friday,
        "sat" | "saturday" => Weekday::Saturday,
        "sun" | "sunday" => Weekday::Sunday,
        _ => return None,
    })
}

/// Months, by their first three letters and whole.
const MONTHS: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];

fn month_word(word: &str) -> Option<i8> {
    let word = word.trim_end_matches('.');
    let at = MONTHS.iter().position(|month| {
        word == *month || (word.len() >= 3 && word.len() <= 4 && month.starts_with(word))
    });
    i8::try_from(at?).ok()?.checked_add(1)
}

/// `26`, `26th`, `1st`.
fn day_of_month(word: &str) -> Option<i8> {
    let digits = word.trim_end_matches('.');
    let digits = ["st", "nd", "rd", "th"]
        .iter()
        .find_map(|ending| digits.strip_suffix(ending))
        .unwrap_or(digits);
    digits.parse().ok().filter(|day| (1..=31).contains(day))
}

fn is_half_of_day(word: &str) -> bool {
    matches!(word, "am" | "pm" | "a.m." | "p.m." | "h" | "uhr")
}

/// A time of day: nothing where the word is none, and nothing inside where it is written as one and is none.
fn clock_time(word: &str) -> Option<Option<Time>> {
    match word {
        "noon" | "midday" => return Some(Some(time(12, 0, 0, 0))),
        "midnight" => return Some(Some(time(0, 0, 0, 0))),
        "morning" => return Some(Some(time(8, 0, 0, 0))),
        "afternoon" => return Some(Some(time(13, 0, 0, 0))),
        "evening" => return Some(Some(time(18, 0, 0, 0))),
        _ => {}
    }
    let bare = word.replace("a.m.", "am").replace("p.m.", "pm");
    let (digits, half) = match (bare.strip_suffix("am"), bare.strip_suffix("pm")) {
        (Some(digits), _) => (digits, Some(0)),
        (None, Some(digits)) => (digits, Some(12)),
        (None, None) => (bare.strip_suffix('h').unwrap_or(&bare), None),
    };
    let (hour, minute) = match digits.split_once([':', '.', 'h']) {
        Some((hour, minute)) => (hour, Some(minute)),
        None => (digits, None),
    };
    let is_number = |text: &str| {
        !text.is_empty() && text.len() <= 2 && text.bytes().all(|byte| byte.is_ascii_digit())
    };
    let is_time = is_number(hour) && minute.is_none_or(is_number);
    // A bare number is no time of day: it may be a day.
    let is_marked = minute.is_some() || half.is_some() || bare.ends_with('h');
    if !is_time || !is_marked {
        return None;
    }
    Some(of_clock(hour, minute, half))
}

fn of_clock(hour: &str, minute: Option<&str>, half: Option<i8>) -> Option<Time> {
    let hour: i8 = hour.parse().ok()?;
    let minute: i8 = match minute {
        Some(minute) if minute.len() == 2 => minute.parse().ok()?,
        Some(_) => return None,
        None => 0,
    };
    let hour = match half {
        None => hour,
        Some(_) if !(1..=12).contains(&hour) => return None,
        // Twelve is the beginning of its half.
        Some(half) => (hour % 12).checked_add(half)?,
    };
    Time::new(hour, minute, 0, 0).ok()
}
