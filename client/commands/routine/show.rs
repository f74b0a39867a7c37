//! `routine show ID`: one routine with its steps.
//!
//! It serves seeing what a job booked with it will do.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::GetRoutineRequest;
use fettlebook_contract::v1::make::Figures;

use crate::commands::make::list;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::{Form, Printer, routine};

/// What `routine show` takes.
#[derive(Args, Debug)]
pub(crate) struct Show {
    /// Id of the routine
    #[arg(value_name = "ROUTINE", add = ArgValueCompleter::new(complete::routines))]
    pub(crate) routine: String,
}

/// Shows the routine.
pub(crate) async fn perform(
    session: &Session,
    args: &Show,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = GetRoutineRequest {
        routine: args.routine.clone(),
    };
    let answer = session.call(asked).await?;
    let makes = if printer.form() == Form::Json {
        Vec::new()
    } else {
        list::all(session).await?.makes
    };
    let units = makes
        .into_iter()
        .filter_map(|make| match make.figures {
            Some(Figures::Sundry(sundry)) => Some((make.make, sundry.unit())),
            _ => None,
        })
        .collect();
    printer.answer(&answer, |screen, answer| {
        answer
            .routine
            .as_ref()
            .map_or_else(String::new, |found| routine::show(screen, found, &units))
    })?;
    Ok(Exit::Done)
}
