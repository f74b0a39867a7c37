//! `job show ID`: one job.
//!
//! It serves seeing where it stands.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::GetJobRequest;

use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::{Printer, job};

/// What `job show` takes.
#[derive(Args, Debug)]
pub(crate) struct Show {
    /// Id of the job
    #[arg(value_name = "JOB", add = ArgValueCompleter::new(complete::jobs))]
    pub(crate) job: String,
}

/// Shows the job.
pub(crate) async fn perform(
    session: &Session,
    args: &Show,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = GetJobRequest {
        job: args.job.clone(),
    };
    let answer = session.call(asked).await?;
    printer.answer(&answer, |screen, answer| {
        answer
            .job
            .as_ref()
            .map_or_else(String::new, |found| job::show(screen, found))
    })?;
    Ok(Exit::Done)
}
