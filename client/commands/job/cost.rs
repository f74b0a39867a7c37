//! `job cost JOB`: what a job's materials cost, before it or after it.
//!
//! It serves whoever sets prices. After the job it says what it did cost and why that differs.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{CostLine, GetJobCostRequest};

use crate::commands::common::ListForm;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::{Form, Printer, cost};

/// What `job cost` takes.
#[derive(Args, Debug)]
pub(crate) struct Cost {
    /// Id of the job
    #[arg(value_name = "JOB", add = ArgValueCompleter::new(complete::jobs))]
    pub(crate) job: String,
    #[command(flatten)]
    pub(crate) form: ListForm,
}

/// Shows the costs.
pub(crate) async fn perform(
    session: &Session,
    args: &Cost,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    args.form.choose(printer);
    let asked = GetJobCostRequest {
        job: args.job.clone(),
    };
    let answer = session.call(asked).await?;
    let sheet = answer.cost.as_ref();
    let sheet = sheet.ok_or_else(|| Fault::answer("the costs"))?;
    if printer.form() == Form::Csv {
        printer.list::<_, CostLine>(&answer, &sheet.lines, |_, _| String::new())?;
    } else {
        printer.answer(&answer, |screen, _| cost::show(screen, sheet))?;
    }
    Ok(Exit::Done)
}
