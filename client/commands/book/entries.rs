//! `book entries`: the list of what was recorded, told as it comes.
//!
//! A book may be very long: no more of the list is in memory than its pages and, for people, its rows.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{Entry, ListEntriesRequest, ListEntriesResponse};
use jiff::ToSpan as _;
use jiff::civil::Date;
use prost_types::Timestamp;

use super::follow;
use crate::commands::common::ListForm;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::json::to_json;
use crate::page;
use crate::render::csv::Columns;
use crate::render::{Form, Printer, entry};
use crate::when::{self, Toward};

/// What `book entries` takes.
#[derive(Args, Debug)]
pub(crate) struct Entries {
    /// Only what touched this tag or id
    #[arg(long, value_name = "NAME", add = ArgValueCompleter::new(complete::tags))]
    pub(crate) about: Option<String>,
    /// Only what was done for this job
    #[arg(long, value_name = "JOB", conflicts_with = "about", add = ArgValueCompleter::new(complete::jobs))]
    pub(crate) job: Option<String>,
    /// Only what was done today
    #[arg(long, conflicts_with = "since")]
    pub(crate) today: bool,
    /// Only what was done since then, for example yesterday or 'mon 08:00'
    #[arg(long, value_name = "WHEN", allow_hyphen_values = true)]
    pub(crate) since: Option<String>,
    /// Newest first
    #[arg(long)]
    pub(crate) newest: bool,
    /// Only what this device or person reported
    #[arg(long, value_name = "NAME")]
    pub(crate) by: Option<String>,
    /// Only what contradicts the book
    #[arg(long)]
    pub(crate) flagged: bool,
    /// Go on with each entry as it comes, a line each, until Ctrl-C; needs a running fettled. With
    /// --json a document a line
    #[arg(long, conflicts_with_all = ["about", "job", "today", "since", "newest", "by", "flagged", "csv"])]
    pub(crate) follow: bool,
    /// Only what was recorded after this entry
    #[arg(long, value_name = "SEQ", value_parser = clap::value_parser!(i64).range(0..))]
    pub(crate) after: Option<i64>,
    #[command(flatten)]
    pub(crate) form: ListForm,
}

/// Lists the entries.
/// Entries that were reversed stay in the list and say so.
pub(crate) async fn perform(
    session: &Session,
    args: &Entries,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    if args.follow {
        return follow::perform(session, args.after.unwrap_or(0), printer).await;
    }
    args.form.choose(printer);
    let subject = args.about.as_ref().or(args.job.as_ref());
    let mut asked = ListEntriesRequest {
        subject: subject.cloned().unwrap_or_default(),
        newest_first: args.newest,
        by: args.by.clone().unwrap_or_default(),
        flagged: args.flagged,
        ..ListEntriesRequest::default()
    };
    let floor = Floor {
        since: since(session, args)?,
        after: args.after.unwrap_or(0),
    };
    if floor.since.is_none() && floor.after == 0 {
        list(asked, async |sent| session.call(sent).await, printer).await?;
        return Ok(Exit::Done);
    }
    asked.newest_first = true;
    let mut found = above(asked, async |sent| session.call(sent).await, &floor).await?;
    if !args.newest {
        found.reverse();
    }
    let answer = ListEntriesResponse {
        entries: found,
        ..ListEntriesResponse::default()
    };
    let asked = ListEntriesRequest::default();
    list(asked, async |_| Ok(answer.clone()), printer).await?;
    Ok(Exit::Done)
}

/// The first moment of what is asked for; nothing for all.
fn since(session: &Session, args: &Entries) -> Result<Option<Timestamp>, Fault> {
    let text = match (&args.since, args.today) {
        (Some(text), _) => text,
        (None, true) => "today",
        (None, false) => return Ok(None),
    };
    let now = session.now();
    let back = |day: Date| {
        if day > now.date() {
            day.saturating_sub(7.days())
        } else {
            day
        }
    };
    // A day alone means all of it; a weekday the last one.
    let begins = match when::day(text, &now) {
        Ok(day) => back(day)
            .at(0, 0, 0, 0)
            .to_zoned_datetime(now.time_zone().clone())
            .ok(),
        Err(_) => None,
    };
    let begins = match begins {
        Some(begins) => begins,
        None => session.moment("--since", text, Toward::Back)?,
    };
    Ok(Some(when::stamp(&begins)))
}

/// From where on entries are listed.
struct Floor {
    /// Done since then; nothing for all.
    since: Option<Timestamp>,
    /// Recorded after this entry; 0 for all.
    after: i64,
}

/// Entries that were done since a moment and recorded after one, newest first. None that was recorded before a
/// moment was done since.
async fn above(
    asked: ListEntriesRequest,
    call: impl AsyncFn(ListEntriesRequest) -> Result<ListEntriesResponse, Fault>,
    floor: &Floor,
) -> Result<Vec<Entry>, Fault> {
    let at = |stamp: Option<&Timestamp>| stamp.map(|stamp| (stamp.seconds, stamp.nanos));
    let since = at(floor.since.as_ref());
    let mut found = Vec::new();
    page::each(asked, call, &mut |page| {
        for one in page.entries {
            if one.seq <= floor.after || at(one.recorded_time.as_ref()) < since {
                return Ok(false);
            }
            if at(one.done_time.as_ref()) >= since {
                found.push(one);
            }
        }
        Ok(true)
    })
    .await?;
    Ok(found)
}

/// Prints the entries that a call fetches, each page before the next is asked for.
async fn list(
    asked: ListEntriesRequest,
    call: impl AsyncFn(ListEntriesRequest) -> Result<ListEntriesResponse, Fault>,
    printer: &mut Printer,
) -> Result<(), Fault> {
    match printer.form() {
        Form::People => list_to_people(asked, call, printer).await,
        Form::Json => list_as_json(asked, call, printer).await,
        Form::Csv => list_as_csv(asked, call, printer).await,
    }
}

/// A table, once the widths of its columns are known.
async fn list_to_people(
    asked: ListEntriesRequest,
    call: impl AsyncFn(ListEntriesRequest) -> Result<ListEntriesResponse, Fault>,
    printer: &mut Printer,
) -> Result<(), Fault> {
    let screen = printer.screen().clone();
    let mut list = entry::List::default();
    page::each(asked, call, &mut |page| {
        for one in &page.entries {
            list.push(&screen, one);
        }
        Ok(true)
    })
    .await?;
    if list.is_empty() {
        printer.page("No entries.");
        return Ok(());
    }
    list.each_part(&screen, |part| printer.page(part));
    Ok(())
}

/// The document of one whole answer, an entry at a time.
async fn list_as_json(
    asked: ListEntriesRequest,
    call: impl AsyncFn(ListEntriesRequest) -> Result<ListEntriesResponse, Fault>,
    printer: &mut Printer,
) -> Result<(), Fault> {
    let empty = to_json(&ListEntriesResponse::default())?;
    let Some((before, after)) = empty.split_once("[]") else {
        return Err(Fault::answer("a list"));
    };
    // An entry is printed once it is known whether another follows, which a comma says.
    let mut last: Option<String> = None;
    page::each(asked, call, &mut |page| {
        for one in &page.entries {
            let shown = indented(&to_json(one)?);
            match last.replace(shown) {
                None => printer.verbatim(&format!("{before}[")),
                Some(last) => printer.verbatim(&format!("{last},")),
            }
        }
        Ok(printer.flush())
    })
    .await?;
    match last {
        None => printer.verbatim(&empty),
        Some(last) => {
            printer.verbatim(&last);
            printer.verbatim(&format!("  ]{after}"));
        }
    }
    Ok(())
}

/// A document as it stands in the list of another one.
fn indented(document: &str) -> String {
    let lines = document.lines().map(|line| format!("    {line}"));
    lines.collect::<Vec<_>>().join("\n")
}

async fn list_as_csv(
    asked: ListEntriesRequest,
    call: impl AsyncFn(ListEntriesRequest) -> Result<ListEntriesResponse, Fault>,
    printer: &mut Printer,
) -> Result<(), Fault> {
    let columns = Columns::of::<Entry>()?;
    printer.verbatim(&columns.header()?);
    page::each(asked, call, &mut |page| {
        if !page.entries.is_empty() {
            printer.verbatim(&columns.rows(&page.entries)?);
        }
        Ok(printer.flush())
    })
    .await
}

#[cfg(test)]
mod tests;
