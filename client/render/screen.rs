//! What a page is written for: how wide it is, whose clock it shows, which characters it has.
//!
//! It serves every screen. It is measured once, at the start; a page never asks the terminal itself.

use std::env;

use fettlebook_contract::v1::Verdict;
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use textwrap::WordSplitter;

use crate::clock::local_zone;

/// Narrowest page that is laid out; below it lines run over.
const WIDTH_MIN: usize = 40;
/// Width of a page that no terminal shows, and widest that still reads well.
const WIDTH_PLAIN: usize = 80;
const WIDTH_MAX: usize = 140;

/// The page.
#[derive(Clone, Debug)]
pub(crate) struct Screen {
    /// Columns.
    pub(crate) width: usize,
    /// True when gauges may use block characters.
    pub(crate) unicode: bool,
    /// Where the person is.
    pub(crate) zone: TimeZone,
}

impl Screen {
    /// The page for this terminal, or for a pipe.
    pub(crate) fn measure(wanted: Option<u16>) -> Self {
        let seen = || terminal_size::terminal_size().map(|(width, _)| usize::from(width.0));
        Self {
            width: wanted
                .map(usize::from)
                .or_else(seen)
                .unwrap_or(WIDTH_PLAIN)
                .clamp(WIDTH_MIN, WIDTH_MAX),
            unicode: unicode_locale(),
            zone: local_zone(),
        }
    }

    /// A moment on the person's clock: `Thu 26 Nov 2026 08:00`.
    pub(crate) fn moment(&self, stamp: &prost_types::Timestamp) -> String {
        Timestamp::new(stamp.seconds, stamp.nanos).map_or_else(
            |_| "a time out of range".to_owned(),
            |moment| {
                moment
                    .to_zoned_datetime(self.zone.clone())
                    .strftime("%a %-d %b %Y %H:%M")
                    .to_string()
            },
        )
    }

    /// A moment near now, without its year: `Thu 26 Nov 08:00`.
    pub(crate) fn near_moment(&self, stamp: &prost_types::Timestamp) -> String {
        let moment = self.moment(stamp);
        let Some((day, time)) = moment.rsplit_once(' ') else {
            return moment;
        };
        let day = day.rsplit_once(' ').map_or(day, |(day, _)| day);
        format!("{day} {time}")
    }

    /// A moment within days from now: `Thu 12:00`, which stays on one line.
    pub(crate) fn hour_of_week(&self, stamp: &prost_types::Timestamp) -> String {
        let moment = self.moment(stamp);
        match (moment.split_once(' '), moment.rsplit_once(' ')) {
            (Some((day, _)), Some((_, time))) => format!("{day}{NO_BREAK}{time}"),
            _ => moment,
        }
    }

    /// A moment that may be absent.
    pub(crate) fn moment_or(&self, stamp: Option<&prost_types::Timestamp>, none: &str) -> String {
        stamp.map_or_else(|| none.to_owned(), |stamp| self.moment(stamp))
    }

    /// Text wrapped to the page, with one indent for the first line and one for the rest.
    pub(crate) fn hung(&self, first: &str, rest: &str, text: &str) -> String {
        let options = textwrap::Options::new(self.width)
            .initial_indent(first)
            .subsequent_indent(rest)
            .word_splitter(WordSplitter::NoHyphenation)
            .break_words(false);
        textwrap::fill(&joined(text), options).replace(NO_BREAK, " ")
    }
}

/// A blank at which no line is broken.
pub(crate) const NO_BREAK: char = '\u{A0}';
/// Units that stay with the figure before them.
const UNITS: [&str; 17] = [
    "%", "µm", "mm", "cm", "m", "m²", "mL", "L", "g", "kg", "h", "min", "s", "days", "m/s²",
    "dB(A)", "N",
];

/// Days of a week and months, as dates have them here.
const DAYS: [&str; 7] = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];
const MONTHS: [&str; 12] = [
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
];

/// Text in which a figure and its unit are one word, and so are the day and the month of a date.
pub(crate) fn joined(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut words = text.split(' ').peekable();
    while let Some(word) = words.next() {
        out.push_str(word);
        let Some(next) = words.peek() else {
            break;
        };
        let unit = next.trim_end_matches(['.', ',', ';', ':', ')']);
        let is_figure = word.ends_with(|c: char| c.is_ascii_digit());
        let is_day = DAYS.contains(&word) && next.starts_with(|c: char| c.is_ascii_digit());
        let stays = is_day || is_figure && (UNITS.contains(&unit) || MONTHS.contains(&unit));
        out.push(if stays { NO_BREAK } else { ' ' });
    }
    out
}

/// A day as a person reads it: `Wed 31 Mar 2027`; text that is no date comes back as it is.
pub(crate) fn day(iso: &str) -> String {
    iso.parse::<Date>().map_or_else(
        |_| iso.to_owned(),
        |date| date.strftime("%a %-d %b %Y").to_string(),
    )
}

/// The locale decides, in the order the C library asks it.
fn unicode_locale() -> bool {
    ["LC_ALL", "LC_CTYPE", "LANG"]
        .iter()
        .find_map(|name| env::var(name).ok().filter(|value| !value.is_empty()))
        .is_some_and(|value| {
            let value = value.to_lowercase();
            value.contains("utf-8") || value.contains("utf8")
        })
}

/// One or several: `1 pad`, `3 pads`.
pub(crate) fn several(count: i64, one: &str, many: &str) -> String {
    let noun = if count == 1 { one } else { many };
    format!("{count} {noun}")
}

/// A verdict's word, for a field as it came.
pub(crate) fn verdict_of(value: i32) -> Verdict {
    Verdict::try_from(value).unwrap_or(Verdict::Unspecified)
}
