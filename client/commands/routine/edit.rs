//! `routine edit ID`: changes a routine, from options or from a file.
//!
//! It serves routines that grow. Steps are given anew as a whole, so that their order is plain.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{Routine, Step, UpdateRoutineRequest};
use prost_types::FieldMask;

use crate::commands::common::record;
use crate::commands::make::figures::whole;
use crate::commands::routine::add::from_file;
use crate::commands::routine::parts::{self, Need, in_units};
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;
use crate::request;

/// What `routine edit` takes.
#[derive(Args, Debug)]
pub(crate) struct Edit {
    /// Id of the routine
    #[arg(value_name = "ROUTINE", add = ArgValueCompleter::new(complete::routines))]
    pub(crate) routine: String,
    /// Name as said
    #[arg(long, value_name = "TEXT")]
    pub(crate) name: Option<String>,
    /// All its steps anew, once for each step, in order
    #[arg(long, value_name = "STEP", value_parser = parts::step)]
    pub(crate) step: Vec<Step>,
    /// Towel make for residue
    #[arg(long, value_name = "MAKE", add = ArgValueCompleter::new(complete::makes))]
    pub(crate) towel: Option<String>,
    /// Towel cells for each section
    #[arg(long, value_name = "COUNT", value_parser = whole)]
    pub(crate) cells: Option<i64>,
    /// All its sundries anew, for example 'gloves=2 pairs' or 'wipe=20 ml per m2'
    #[arg(long, value_name = "NEED", value_parser = parts::need)]
    pub(crate) sundry: Vec<Need>,
    /// File with the whole routine as JSON in the contract's names; - for standard input
    #[arg(long, value_name = "FILE", conflicts_with_all = ["name", "step", "towel", "cells", "sundry"])]
    pub(crate) from: Option<String>,
}

/// Changes the routine.
pub(crate) async fn perform(
    session: &Session,
    args: &Edit,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let (routine, paths) = match &args.from {
        Some(path) => (from_file(path, &args.routine)?, every_field()),
        None => args.change(session).await?,
    };
    let update = UpdateRoutineRequest {
        request_id: request::new_id(),
        routine: Some(routine),
        update_mask: Some(FieldMask {
            paths: paths.into_iter().map(str::to_owned).collect(),
        }),
    };
    record(session, printer, update).await
}

/// A file holds the routine whole.
fn every_field() -> Vec<&'static str> {
    vec![
        "name",
        "steps",
        "towel_make",
        "cells_per_section_count",
        "sundries",
    ]
}

impl Edit {
    /// The routine with what was given, and the mask that names it.
    async fn change(&self, session: &Session) -> Result<(Routine, Vec<&'static str>), Fault> {
        let mut routine = Routine {
            routine: self.routine.clone(),
            ..Routine::default()
        };
        let mut paths = Vec::new();
        if let Some(name) = &self.name {
            routine.name.clone_from(name);
            paths.push("name");
        }
        if !self.step.is_empty() {
            routine.steps.clone_from(&self.step);
            paths.push("steps");
        }
        if let Some(towel) = &self.towel {
            routine.towel_make.clone_from(towel);
            paths.push("towel_make");
        }
        if self.cells.is_some() {
            routine.cells_per_section_count = self.cells;
            paths.push("cells_per_section_count");
        }
        if !self.sundry.is_empty() {
            routine.sundries = in_units(session, &self.sundry).await?;
            paths.push("sundries");
        }
        if paths.is_empty() {
            return Err(Fault::usage(
                "routine edit",
                "Nothing to change was given; --help lists what can be.",
            ));
        }
        Ok((routine, paths))
    }
}
