//! `routine`: named lists of steps.
//!
//! It serves setting up. A routine is what jobs are booked with.

use std::collections::BTreeMap;

use clap::{Args, Subcommand};
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::make::Figures;
use fettlebook_contract::v1::{
    CreateRoutineRequest, GetRoutineRequest, ListRoutinesRequest, Routine, Step, ToolNeed, Unit,
    UpdateRoutineRequest,
};
use prost_types::FieldMask;

use crate::commands::common::{AsRead, ListForm, read_from, tell_understood};
use crate::commands::make;
use crate::commands::noun::{changes_something, listed, shown};
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::figures::read::whole;
use crate::ids;
use crate::json::from_json;
use crate::render::{Form, Printer, routine, understood};
use crate::request;

use self::parts::{Need, Shared, in_units};

pub(crate) mod parts;

/// What can be done with routines.
#[derive(Debug, Subcommand)]
pub(crate) enum RoutineCommand {
    /// Set up a routine
    Add(Add),
    /// List the routines
    List(List),
    /// Show one routine with its steps
    Show(Show),
    /// Change a routine
    Edit(Edit),
}

/// Performs one of them.
pub(crate) async fn perform(
    session: &Session,
    command: &RoutineCommand,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    match command {
        RoutineCommand::Add(args) => add(session, args, printer).await,
        RoutineCommand::List(args) => list(session, args, printer).await,
        RoutineCommand::Show(args) => show(session, args, printer).await,
        RoutineCommand::Edit(args) => edit(session, args, printer).await,
    }
}

/// What `routine add` takes.
#[derive(Args, Debug)]
pub(crate) struct Add {
    /// Id to type from now on, for example two-step
    #[arg(value_name = "ID", value_parser = ids::id)]
    pub(crate) routine: String,
    /// Name as said
    #[arg(long, value_name = "TEXT")]
    pub(crate) name: Option<String>,
    /// A step, for example 'cut: machine=MAKE, pad=MAKE, liquid=MAKE, press=moderate'; once for
    /// each step, in order
    #[arg(long, value_name = "STEP", value_parser = parts::step)]
    pub(crate) step: Vec<Step>,
    /// What a further machine, or the hand, works of a step: step and reach, for example 'cut spot:
    /// machine=MAKE, pad=MAKE'; once for each
    #[arg(long, value_name = "SHARE", value_parser = parts::share)]
    pub(crate) share: Vec<Shared>,
    /// Towel make for residue
    #[arg(long, value_name = "MAKE", add = ArgValueCompleter::new(complete::makes))]
    pub(crate) towel: Option<String>,
    /// Towel cells for each section; without it the book's policy
    #[arg(long, value_name = "COUNT", value_parser = whole)]
    pub(crate) cells: Option<i64>,
    /// What the job takes of a sundry, for example 'gloves=2 pairs' or 'wipe=20 ml per m2'
    #[arg(long, value_name = "NEED", value_parser = parts::need)]
    pub(crate) sundry: Vec<Need>,
    /// A tool that is to be there, for example film-gauge; film-gauge=must where the job must not
    /// start without it
    #[arg(long, value_name = "MAKE[=must]", value_parser = parts::tool,
          add = ArgValueCompleter::new(complete::makes))]
    pub(crate) tool: Vec<ToolNeed>,
    /// File with the routine as JSON in the contract's names; - for standard input
    #[arg(long, value_name = "FILE", conflicts_with_all = ["name", "step", "share", "towel", "cells", "sundry",
          "tool"])]
    pub(crate) from: Option<String>,
}

/// Sets up the routine.
/// A file holds the contract's Routine as JSON.
pub(crate) async fn add(
    session: &Session,
    args: &Add,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let routine = match &args.from {
        Some(path) => from_file(path, &args.routine)?,
        None => Routine {
            steps: shared_steps(&args.step, &args.share)?,
            routine: args.routine.clone(),
            name: args
                .name
                .clone()
                .unwrap_or_else(|| args.routine.replace('-', " ")),
            towel_make: args.towel.clone().unwrap_or_default(),
            cells_per_section_count: args.cells,
            sundries: in_units(session, &args.sundry).await?,
            tools: args.tool.clone(),
            ..Routine::default()
        },
    };
    let told = understood::routine(None, &routine, &units(session, printer).await?);
    let create = CreateRoutineRequest {
        request_id: request::new_id(),
        routine: Some(routine),
    };
    let answer = session.call(create).await?;
    tell_understood(printer, &answer, &told)
}

/// Steps with what is said of those that share them.
fn shared_steps(steps: &[Step], shared: &[Shared]) -> Result<Vec<Step>, Fault> {
    let mut steps = steps.to_vec();
    parts::put_shares(&mut steps, shared)?;
    Ok(steps)
}

/// The unit that each sundry make is kept in, for whoever reads it.
async fn units(session: &Session, printer: &Printer) -> Result<BTreeMap<String, Unit>, Fault> {
    if printer.form() == Form::Json {
        return Ok(BTreeMap::new());
    }
    let makes = make::all(session).await?.makes.into_iter();
    let units = makes.filter_map(|make| match make.figures {
        Some(Figures::Sundry(sundry)) => Some((make.make, sundry.unit())),
        _ => None,
    });
    Ok(units.collect())
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

/// What `routine list` takes.
#[derive(Args, Debug)]
pub(crate) struct List {
    #[command(flatten)]
    pub(crate) form: ListForm,
}

/// Lists the routines.
pub(crate) async fn list(
    session: &Session,
    args: &List,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = ListRoutinesRequest::default();
    listed(
        session,
        printer,
        args.form,
        asked,
        |answer| answer.routines.as_slice(),
        routine::list,
    )
    .await
}

/// What `routine show` takes.
#[derive(Args, Debug)]
pub(crate) struct Show {
    /// Id of the routine
    #[arg(value_name = "ROUTINE", value_parser = ids::id, add = ArgValueCompleter::new(complete::routines))]
    pub(crate) routine: String,
}

/// Shows the routine.
pub(crate) async fn show(
    session: &Session,
    args: &Show,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = GetRoutineRequest {
        routine: args.routine.clone(),
    };
    let answer = session.call(asked).await?;
    let units = units(session, printer).await?;
    let held = answer.routine.as_ref();
    shown(printer, &answer, held, "the routine", |screen, found| {
        routine::show(screen, found, &units)
    })
}

/// What `routine edit` takes.
#[derive(Args, Debug)]
pub(crate) struct Edit {
    /// Id of the routine
    #[arg(value_name = "ROUTINE", value_parser = ids::id, add = ArgValueCompleter::new(complete::routines))]
    pub(crate) routine: String,
    /// Name as said
    #[arg(long, value_name = "TEXT")]
    pub(crate) name: Option<String>,
    /// All its steps anew, once for each step, in order
    #[arg(long, value_name = "STEP", value_parser = parts::step)]
    pub(crate) step: Vec<Step>,
    /// What a further machine, or the hand, works of a step: step and reach, for example 'cut spot:
    /// machine=MAKE, pad=MAKE'; once for each. They take the place of those
    /// that the step had
    #[arg(long, value_name = "SHARE", value_parser = parts::share)]
    pub(crate) share: Vec<Shared>,
    /// Towel make for residue
    #[arg(long, value_name = "MAKE", add = ArgValueCompleter::new(complete::makes))]
    pub(crate) towel: Option<String>,
    /// Towel cells for each section
    #[arg(long, value_name = "COUNT", value_parser = whole)]
    pub(crate) cells: Option<i64>,
    /// All its sundries anew, for example 'gloves=2 pairs' or 'wipe=20 ml per m2'
    #[arg(long, value_name = "NEED", value_parser = parts::need)]
    pub(crate) sundry: Vec<Need>,
    /// All its tools anew, for example film-gauge or film-gauge=must
    #[arg(long, value_name = "MAKE[=must]", value_parser = parts::tool,
          add = ArgValueCompleter::new(complete::makes))]
    pub(crate) tool: Vec<ToolNeed>,
    /// File with the whole routine as JSON in the contract's names; - for standard input
    #[arg(long, value_name = "FILE", conflicts_with_all = ["name", "step", "share", "towel", "cells", "sundry",
          "tool"])]
    pub(crate) from: Option<String>,
    #[command(flatten)]
    pub(crate) as_read: AsRead,
}

/// Changes the routine.
/// Steps are given anew as a whole, so that their order is plain.
pub(crate) async fn edit(
    session: &Session,
    args: &Edit,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let (mut routine, paths) = match &args.from {
        Some(path) => (from_file(path, &args.routine)?, every_field()),
        None => args.change(session).await?,
    };
    routine.etag = args.as_read.or(routine.etag);
    let update = UpdateRoutineRequest {
        request_id: request::new_id(),
        routine: Some(routine),
        update_mask: Some(FieldMask {
            paths: paths.into_iter().map(str::to_owned).collect(),
        }),
    };
    let asked = GetRoutineRequest {
        routine: args.routine.clone(),
    };
    let old = session.call(asked.clone()).await?.routine;
    let answer = session.call(update).await?;
    let new = session.call(asked).await?.routine;
    let units = units(session, printer).await?;
    let told = new.map(|new| understood::routine(old.as_ref(), &new, &units));
    tell_understood(printer, &answer, &told.unwrap_or_default())
}

/// A file holds the routine whole.
fn every_field() -> Vec<&'static str> {
    vec![
        "name",
        "steps",
        "towel_make",
        "cells_per_section_count",
        "sundries",
        "tools",
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
            routine.steps = shared_steps(&self.step, &self.share)?;
            paths.push("steps");
        } else if !self.share.is_empty() {
            let asked = GetRoutineRequest {
                routine: self.routine.clone(),
            };
            let held = session.call(asked).await?.routine.unwrap_or_default();
            routine.steps = shared_steps(&held.steps, &self.share)?;
            // What was read is what is edited.
            routine.etag = held.etag;
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
        if !self.tool.is_empty() {
            routine.tools.clone_from(&self.tool);
            paths.push("tools");
        }
        changes_something("routine edit", &paths)?;
        Ok((routine, paths))
    }
}
