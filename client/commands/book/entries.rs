//! `book entries`: what was recorded, oldest first or newest first, or as it comes.
//!
//! It serves looking back. Entries that were reversed stay in the list and say so.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::ListEntriesRequest;

use crate::commands::book::follow;
use crate::commands::common::ListForm;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::page;
use crate::render::{Printer, entry};

/// What `book entries` takes.
#[derive(Args, Debug)]
pub(crate) struct Entries {
    /// Only what touched this tag or id
    #[arg(long, value_name = "NAME", add = ArgValueCompleter::new(complete::tags))]
    pub(crate) about: Option<String>,
    /// Newest first
    #[arg(long)]
    pub(crate) newest: bool,
    /// Go on with each entry as it comes, a line each, until Ctrl-C; needs a running fettled. With
    /// --json a document a line
    #[arg(long, conflicts_with_all = ["about", "newest", "csv"])]
    pub(crate) follow: bool,
    /// Begin after this entry; without it, with the first
    #[arg(long, value_name = "SEQ", requires = "follow", value_parser = clap::value_parser!(i64).range(0..))]
    pub(crate) after: Option<i64>,
    #[command(flatten)]
    pub(crate) form: ListForm,
}

/// Lists the entries.
pub(crate) async fn perform(
    session: &Session,
    args: &Entries,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    if args.follow {
        return follow::perform(session, args.after.unwrap_or(0), printer).await;
    }
    args.form.choose(printer);
    let asked = ListEntriesRequest {
        subject: args.about.clone().unwrap_or_default(),
        newest_first: args.newest,
        ..ListEntriesRequest::default()
    };
    let answer = page::every(session, asked).await?;
    printer.list(&answer, &answer.entries, entry::list)?;
    Ok(Exit::Done)
}
