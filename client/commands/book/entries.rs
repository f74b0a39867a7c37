//! `book entries`: the list of what was recorded, told as it comes.
//!
//! A book may be very long: no more of the list is in memory than its pages and, for people, its rows. Which
//! entries are listed or followed, and in which order, is for the service to say.

mod time;

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{ListEntriesRequest, ListEntriesResponse, WatchEntriesRequest};
use jiff::ZonedDateTime;

use super::follow;
use crate::columns::Cell;
use crate::commands::common::ListForm;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::json::to_json;
use crate::page;
use crate::render::{Form, Printer, csv, entry, register};

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
    /// Only what was done until then, a day's end included, for example yesterday or 'mon 12:00'
    #[arg(long, value_name = "WHEN", allow_hyphen_values = true)]
    pub(crate) until: Option<String>,
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
    /// --about, --job, --by and --flagged only such entries, with --json a document a line
    #[arg(long, conflicts_with_all = ["today", "since", "until", "newest", "csv"])]
    pub(crate) follow: bool,
    /// Only what was recorded after this entry
    #[arg(long, value_name = "SEQ", value_parser = clap::value_parser!(i64).range(0..))]
    pub(crate) after: Option<i64>,
    #[command(flatten)]
    pub(crate) form: ListForm,
}

impl Entries {
    /// What is listed.
    fn listed(&self, now: &ZonedDateTime) -> Result<ListEntriesRequest, Fault> {
        let (from, before) = time::range(self, now)?;
        Ok(ListEntriesRequest {
            subject: self.subject(),
            newest_first: self.newest,
            by: self.by.clone().unwrap_or_default(),
            flagged: self.flagged,
            from_time: from,
            before_time: before,
            after_seq: self.after.unwrap_or_default(),
            ..ListEntriesRequest::default()
        })
    }

    /// What is followed.
    fn followed(&self) -> WatchEntriesRequest {
        WatchEntriesRequest {
            after_seq: self.after.unwrap_or_default(),
            subject: self.subject(),
            by: self.by.clone().unwrap_or_default(),
            flagged: self.flagged,
        }
    }

    fn subject(&self) -> String {
        let subject = self.about.as_ref().or(self.job.as_ref());
        subject.cloned().unwrap_or_default()
    }
}

/// Lists the entries.
/// Entries that were reversed stay in the list and say so.
pub(crate) async fn perform(
    session: &Session,
    args: &Entries,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    if args.follow {
        return follow::perform(session, args.followed(), printer).await;
    }
    args.form.choose(printer);
    let asked = args.listed(&session.now())?;
    list(asked, async |sent| session.call(sent).await, printer).await?;
    Ok(Exit::Done)
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

/// The register: a row for each deed.
async fn list_as_csv(
    asked: ListEntriesRequest,
    call: impl AsyncFn(ListEntriesRequest) -> Result<ListEntriesResponse, Fault>,
    printer: &mut Printer,
) -> Result<(), Fault> {
    let (zone, decimals) = (printer.screen().zone.clone(), printer.decimals());
    let header = register::COLUMNS.map(Cell::from).to_vec();
    printer.verbatim(&csv::begun(&[header], decimals)?);
    page::each(asked, call, &mut |page| {
        let rows = page.entries.iter();
        let rows: Vec<_> = rows.flat_map(|one| register::rows(one, &zone)).collect();
        if !rows.is_empty() {
            printer.verbatim(&csv::written(&rows, decimals)?);
        }
        Ok(printer.flush())
    })
    .await
}

#[cfg(test)]
mod tests;
