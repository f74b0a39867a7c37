//! `job list`: the diary, by start.
//!
//! It serves looking ahead and back. It leaves nothing out unless asked to.

use clap::Args;
use fettlebook_contract::v1::{JobState, ListJobsRequest};

use crate::commands::common::ListForm;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::page;
use crate::render::{Printer, job};
use crate::word;

/// What `job list` takes.
#[derive(Args, Debug)]
pub(crate) struct List {
    /// Only what stands so; without it all jobs
    #[arg(long, value_name = "WORD", value_parser = word::parser::<JobState>())]
    pub(crate) state: Option<JobState>,
    #[command(flatten)]
    pub(crate) form: ListForm,
}

/// Lists the jobs.
pub(crate) async fn perform(
    session: &Session,
    args: &List,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    args.form.choose(printer);
    let asked = ListJobsRequest {
        state: args.state.unwrap_or_default().into(),
        ..ListJobsRequest::default()
    };
    let answer = page::every(session, asked).await?;
    printer.list(&answer, &answer.jobs, job::list)?;
    Ok(Exit::Done)
}
