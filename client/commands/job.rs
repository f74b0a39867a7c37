//! `job`: the diary.
//!
//! It serves booking and looking ahead. Checking and logging are verbs of their own.

use clap::Subcommand;

use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;

pub(crate) mod add;
pub(crate) mod call_off;
pub(crate) mod cost;
pub(crate) mod edit;
pub(crate) mod list;
pub(crate) mod plan;
pub(crate) mod show;

/// What can be done with jobs.
#[derive(Debug, Subcommand)]
pub(crate) enum JobCommand {
    /// Book a job
    Add(add::Add),
    /// List the jobs
    List(list::List),
    /// Show one job
    Show(show::Show),
    /// Change a booked job
    Edit(edit::Edit),
    /// Call a booked job off
    CallOff(call_off::CallOff),
    /// Say what a job needs, without looking at the kit
    Plan(plan::Plan),
    /// Say what a job's materials cost: a forecast, and what they did cost once it is done
    Cost(cost::Cost),
}

/// Performs one of them.
pub(crate) async fn perform(
    session: &Session,
    command: &JobCommand,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    match command {
        JobCommand::Add(args) => add::perform(session, args, printer).await,
        JobCommand::List(args) => list::perform(session, args, printer).await,
        JobCommand::Show(args) => show::perform(session, args, printer).await,
        JobCommand::Edit(args) => edit::perform(session, args, printer).await,
        JobCommand::CallOff(args) => call_off::perform(session, args, printer).await,
        JobCommand::Plan(args) => plan::perform(session, args, printer).await,
        JobCommand::Cost(args) => cost::perform(session, args, printer).await,
    }
}
