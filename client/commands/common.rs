//! What the commands share: options that many take, and how an entry that was recorded is told.
//!
//! It serves the files beside it. It must not grow into a place for whatever has no other.

use std::fs;
use std::io::Read as _;

use clap::Args;
use fettlebook_contract::call::{Recorded, Unary};
use prost_types::Timestamp;

use crate::columns::Decimals;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::entry::Understood;
use crate::render::{Printer, entry};
use crate::when::{self, Toward, stamp};

/// Largest file that is read, the service's own limit.
const FILE_BYTES_MAX: u64 = 4 * 1024 * 1024;

/// When it happened, and a note.
#[derive(Args, Clone, Debug, Default)]
pub(crate) struct Told {
    /// When it happened, for example 'yesterday 17:00'; without it now
    #[arg(long, value_name = "WHEN", allow_hyphen_values = true)]
    pub(crate) done: Option<String>,
    /// Anything worth remembering
    #[arg(long, value_name = "TEXT")]
    pub(crate) note: Option<String>,
}

impl Told {
    /// When it happened, for the service; absent means now.
    ///
    /// # Errors
    /// When the moment is not written in one of the accepted forms.
    pub(crate) fn done_time(&self, session: &Session) -> Result<Option<Timestamp>, Fault> {
        self.done
            .as_deref()
            .map(|text| session.moment("--done", text, Toward::Back))
            .transpose()
            .map(|moment| moment.as_ref().map(stamp))
    }

    /// The note; empty for none.
    pub(crate) fn note(&self) -> String {
        self.note.clone().unwrap_or_default()
    }
}

/// A day until which something holds, as the contract carries it; empty when none was given.
///
/// # Errors
/// When the day is not written in one of the accepted forms.
pub(crate) fn open_day(
    session: &Session,
    option: &str,
    text: Option<&str>,
) -> Result<String, Fault> {
    let day = text
        .map(|text| when::last_day(text, &session.now()))
        .transpose();
    let day = day.map_err(|why| Fault::usage(option, why))?;
    Ok(day.map_or_else(String::new, |day| day.to_string()))
}

/// As of which reading a thing is edited.
#[derive(Args, Clone, Debug, Default)]
pub(crate) struct AsRead {
    /// Edit it only if it still stands as it was read: its etag, as --json tells it
    #[arg(long, value_name = "ETAG")]
    etag: Option<String>,
}

impl AsRead {
    /// The etag that was given, else that of what was read just now.
    pub(crate) fn or(&self, read: String) -> String {
        self.etag.clone().unwrap_or(read)
    }
}

/// How a list is put out.
#[derive(Args, Clone, Copy, Debug, Default)]
pub(crate) struct ListForm {
    /// Comma-separated values with a header row, for spreadsheets and scripts
    #[arg(long, conflicts_with_all = ["json", "json_numbers"])]
    pub(crate) csv: bool,
    #[command(flatten)]
    pub(crate) habit: Habit,
}

/// How decimals are written in separated values.
#[derive(Args, Clone, Copy, Debug, Default)]
pub(crate) struct Habit {
    /// With --csv: commas before decimals and semicolons between cells, as spreadsheets of many countries
    /// want it
    #[arg(long, requires = "csv")]
    pub(crate) decimal_comma: bool,
}

impl Habit {
    /// What stands before decimals.
    pub(crate) const fn decimals(self) -> Decimals {
        if self.decimal_comma {
            Decimals::Comma
        } else {
            Decimals::Point
        }
    }
}

impl ListForm {
    /// Sets the printer to it.
    pub(crate) fn choose(self, printer: &mut Printer) {
        if self.csv {
            printer.list_as_values(self.habit.decimals());
        }
    }
}

/// Sends a request that records something and prints the entry.
///
/// # Errors
/// What the service refused.
pub(crate) async fn record<C>(
    session: &Session,
    printer: &mut Printer,
    request: C,
) -> Result<Exit, Fault>
where
    C: Unary<Answer: Recorded>,
{
    let answer = session.call(request).await?;
    tell(printer, &answer)
}

/// Prints the entry of an answer.
///
/// # Errors
/// When the answer has none.
pub(crate) fn tell<A: Recorded>(printer: &mut Printer, answer: &A) -> Result<Exit, Fault> {
    if answer.entry().is_none() {
        return Err(Fault::answer("the entry"));
    }
    printer.answer(answer, |screen, answer| {
        answer
            .entry()
            .map_or_else(String::new, |found| entry::recorded(screen, found))
    })?;
    Ok(Exit::Done)
}

/// As [`tell`], and below it how what was set was understood.
///
/// # Errors
/// When the answer has no entry.
pub(crate) fn tell_understood<A: Recorded>(
    printer: &mut Printer,
    answer: &A,
    understood: &[Understood],
) -> Result<Exit, Fault> {
    if answer.entry().is_none() {
        return Err(Fault::answer("the entry"));
    }
    printer.answer(answer, |screen, answer| {
        answer.entry().map_or_else(String::new, |found| {
            entry::recorded_as(screen, found, understood)
        })
    })?;
    Ok(Exit::Done)
}

/// Reads the file that `--from` names, or standard input for `-`.
///
/// # Errors
/// When it cannot be read, is too large or is not text in UTF-8.
pub(crate) fn read_from(path: &str) -> Result<String, Fault> {
    read_text("--from", path, "save it as UTF-8 JSON")
}

/// Reads the text file that an option names, or standard input for `-`; `how` says how to save it.
///
/// # Errors
/// When it cannot be read, is too large or is not text in UTF-8.
pub(crate) fn read_text(option: &str, path: &str, how: &str) -> Result<String, Fault> {
    let mut bytes = Vec::new();
    let limit = FILE_BYTES_MAX + 1;
    let named = if path == "-" { "standard input" } else { path };
    let read = if path == "-" {
        std::io::stdin().take(limit).read_to_end(&mut bytes)
    } else {
        fs::File::open(path).and_then(|file| file.take(limit).read_to_end(&mut bytes))
    };
    read.map_err(|error| Fault::file(named, &error))?;
    if bytes.len() > usize::try_from(FILE_BYTES_MAX).unwrap_or(usize::MAX) {
        return Err(Fault::usage(
            option,
            format!("{named} is larger than the 4 MiB that one message may be; split it."),
        ));
    }
    String::from_utf8(bytes)
        .map_err(|_| Fault::usage(option, format!("{named} is not text in UTF-8; {how}.")))
}
