//! `job call-off ID`: calls a booked job off.
//!
//! It serves the third phone call. The job stays in the book.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::CallOffJobRequest;

use crate::commands::common::{Told, record};
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;
use crate::request;

/// What `job call-off` takes.
#[derive(Args, Debug)]
pub(crate) struct CallOff {
    /// Id of the job
    #[arg(value_name = "JOB", add = ArgValueCompleter::new(complete::jobs))]
    pub(crate) job: String,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Calls it off.
pub(crate) async fn perform(
    session: &Session,
    args: &CallOff,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let off = CallOffJobRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        job: args.job.clone(),
    };
    record(session, printer, off).await
}
