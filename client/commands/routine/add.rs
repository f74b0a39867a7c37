//! `routine add ID`: sets up a routine, from options or from a file.
//!
//! It serves setting up. A file holds the contract's Routine as JSON.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{CreateRoutineRequest, Routine, Step};

use crate::commands::common::{read_from, record};
use crate::commands::make::figures::whole;
use crate::commands::routine::parts::{self, Need, in_units};
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::json::from_json;
use crate::render::Printer;
use crate::request;

/// What `routine add` takes.
#[derive(Args, Debug)]
pub(crate) struct Add {
    /// Id to type from now on, for example two-step
    #[arg(value_name = "ID")]
    pub(crate) routine: String,
    /// Name as said
    #[arg(long, value_name = "TEXT")]
    pub(crate) name: Option<String>,
    /// A step, for example 'cut: machine=MAKE, pad=MAKE, liquid=MAKE, press=moderate'; once for
    /// each step, in order
    #[arg(long, value_name = "STEP", value_parser = parts::step)]
    pub(crate) step: Vec<Step>,
    /// Towel make for residue
    #[arg(long, value_name = "MAKE", add = ArgValueCompleter::new(complete::makes))]
    pub(crate) towel: Option<String>,
    /// Towel cells for each section; without it the book's policy
    #[arg(long, value_name = "COUNT", value_parser = whole)]
    pub(crate) cells: Option<i64>,
    /// What the job takes of a sundry, for example 'gloves=2 pairs' or 'wipe=20 ml per m2'
    #[arg(long, value_name = "NEED", value_parser = parts::need)]
    pub(crate) sundry: Vec<Need>,
    /// File with the routine as JSON in the contract's names; - for standard input
    #[arg(long, value_name = "FILE", conflicts_with_all = ["name", "step", "towel", "cells", "sundry"])]
    pub(crate) from: Option<String>,
}

/// Sets up the routine.
pub(crate) async fn perform(
    session: &Session,
    args: &Add,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let routine = match &args.from {
        Some(path) => from_file(path, &args.routine)?,
        None => Routine {
            routine: args.routine.clone(),
            name: args
                .name
                .clone()
                .unwrap_or_else(|| args.routine.replace('-', " ")),
            steps: args.step.clone(),
            towel_make: args.towel.clone().unwrap_or_default(),
            cells_per_section_count: args.cells,
            sundries: in_units(session, &args.sundry).await?,
        },
    };
    let create = CreateRoutineRequest {
        request_id: request::new_id(),
        routine: Some(routine),
    };
    record(session, printer, create).await
}

/// Reads a routine from a file; the id that was typed is its id.
///
/// # Errors
/// When the file cannot be read, or says another id.
pub(crate) fn from_file(path: &str, id: &str) -> Result<Routine, Fault> {
    let mut routine: Routine = from_json(&read_from(path)?)?;
    if !routine.routine.is_empty() && routine.routine != id {
        return Err(Fault::usage(
            "--from",
            format!(
                "{path} holds the routine {}, but {id} was asked for.",
                routine.routine
            ),
        ));
    }
    id.clone_into(&mut routine.routine);
    Ok(routine)
}
