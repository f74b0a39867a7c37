//! `job plan ID`: what a job needs, by geometry and policy.
//!
//! It serves buying and quoting by eye. It does not look at the kit.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::PlanJobRequest;

use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::{Printer, plan};

/// What `job plan` takes.
#[derive(Args, Debug)]
pub(crate) struct Plan {
    /// Id of the job
    #[arg(value_name = "JOB", add = ArgValueCompleter::new(complete::jobs))]
    pub(crate) job: String,
}

/// Shows the plan.
pub(crate) async fn perform(
    session: &Session,
    args: &Plan,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = PlanJobRequest {
        job: args.job.clone(),
    };
    let answer = session.call(asked).await?;
    printer.answer(&answer, |screen, answer| {
        answer
            .plan
            .as_ref()
            .map_or_else(String::new, |found| plan::show(screen, &args.job, found))
    })?;
    Ok(Exit::Done)
}
