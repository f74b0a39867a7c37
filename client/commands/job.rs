//! `job`: the diary.
//!
//! It serves booking and looking ahead. Checking and logging are verbs of their own.

mod calendar;

use std::path::PathBuf;

use clap::{Args, Subcommand};
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{
    BookJobRequest, CallOffJobRequest, Car, CarClass, CostLine, CreateCarRequest, GetCarRequest,
    GetJobCostRequest, GetJobRequest, Job, JobState, ListJobsRequest, PlanJobRequest, StepSets,
    UpdateJobRequest,
};
use prost_types::FieldMask;

use crate::commands::common::{AsRead, ListForm, Told, record, tell_understood};
use crate::commands::noun::{changes_something, shown};
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::ids;
use crate::options;
use crate::page;
use crate::paper::{self, Ground, OnPaper};
use crate::places;
use crate::render::{Form, Printer, cost, job, plan, understood};
use crate::request;
use crate::when::Toward;
use crate::when::stamp;
use crate::word;

/// What can be done with jobs.
#[derive(Debug, Subcommand)]
pub(crate) enum JobCommand {
    /// Book a job
    Add(Add),
    /// List the jobs
    List(List),
    /// Show one job
    Show(Show),
    /// Change a booked job
    Edit(Edit),
    /// Call a booked job off
    CallOff(CallOff),
    /// Say what a job needs, without looking at the kit
    Plan(Plan),
    /// Say what a job's materials cost: a forecast, and what they did cost once it is done
    Cost(Cost),
}

/// Performs one of them.
pub(crate) async fn perform(
    session: &Session,
    command: &JobCommand,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    match command {
        JobCommand::Add(args) => add(session, args, printer).await,
        JobCommand::List(args) => list(session, args, printer).await,
        JobCommand::Show(args) => show(session, args, printer).await,
        JobCommand::Edit(args) => edit(session, args, printer).await,
        JobCommand::CallOff(args) => call_off(session, args, printer).await,
        JobCommand::Plan(args) => plan(session, args, printer).await,
        JobCommand::Cost(args) => cost(session, args, printer).await,
    }
}

/// What `job add` takes.
#[derive(Args, Debug)]
pub(crate) struct Add {
    /// Id to type from now on, for example saloon-thursday
    #[arg(value_name = "ID", value_parser = ids::id)]
    pub(crate) job: String,
    /// The car
    #[arg(long, value_name = "CAR", value_parser = ids::id, required_unless_present = "class",
          conflicts_with = "class", add = ArgValueCompleter::new(complete::cars))]
    pub(crate) car: Option<String>,
    /// The class of a car that is not in the book, for example large-suv; it is set up along with the job
    #[arg(long, value_name = "CLASS", value_parser = word::parser::<CarClass>())]
    pub(crate) class: Option<CarClass>,
    /// Its colour, or whatever tells it from others of its class
    #[arg(long, value_name = "TEXT", requires = "class", alias = "color")]
    pub(crate) colour: Option<String>,
    /// The routine
    #[arg(long, value_name = "ROUTINE", value_parser = ids::id, add = ArgValueCompleter::new(complete::routines))]
    pub(crate) routine: String,
    /// When it starts, for example 'tomorrow 08:00' or 'thu 08:00'
    #[arg(long, value_name = "WHEN")]
    pub(crate) start: String,
    /// Where it is done, for example van-a; without it where this device works: a van's own, else the bench
    #[arg(long, value_name = "PLACE", add = ArgValueCompleter::new(complete::places))]
    pub(crate) place: Option<String>,
    /// That place is a new one
    #[arg(long, requires = "place")]
    pub(crate) new_place: bool,
    /// Panels that are left out, for example -roof,-bonnet
    #[arg(long, value_name = "PANELS", value_delimiter = ',', allow_hyphen_values = true,
          value_parser = options::panel_off)]
    pub(crate) panels: Vec<String>,
    /// Who works it, as the shop calls that person: vibration and noise are counted by person
    #[arg(long, value_name = "NAME")]
    pub(crate) person: Option<String>,
    /// Sets a section of a step that gets more than one, for example cut=2: how deep it goes is known after a test
    /// spot
    #[arg(long, value_name = "STEP=COUNT", value_delimiter = ',', value_parser = options::sets)]
    pub(crate) sets: Vec<StepSets>,
    /// When it goes on, on a second day, for example 'fri 08:00'
    #[arg(long, value_name = "WHEN")]
    pub(crate) second_day: Option<String>,
    /// The step that the second day begins with; '' or none for the one that parts the time most evenly
    #[arg(long, value_name = "STEP", requires = "second_day")]
    pub(crate) second_from: Option<String>,
    /// Anything worth remembering
    #[arg(long, value_name = "TEXT")]
    pub(crate) note: Option<String>,
}

/// Books the job.
/// A start that is past is the service's to refuse.
pub(crate) async fn add(
    session: &Session,
    args: &Add,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let start = session.moment("--start", &args.start, Toward::Ahead)?;
    let second = args.second_day.as_deref();
    let second = second.map(|text| session.moment("--second-day", text, Toward::Ahead));
    let second = second.transpose()?;
    let car = match (&args.car, args.class) {
        (Some(car), _) => car.clone(),
        (None, class) => {
            let colour = args.colour.as_deref().unwrap_or_default();
            car_of_class(session, class.unwrap_or_default(), colour, printer).await?
        }
    };
    let job = Job {
        job: args.job.clone(),
        car,
        routine: args.routine.clone(),
        place: places::asked(
            session,
            "--place",
            args.place.as_deref(),
            args.new_place,
            printer,
        )
        .await?
        .unwrap_or_else(|| session.place()),
        start_time: Some(stamp(&start)),
        utc_offset_s: i64::from(start.offset().seconds()),
        left_out_panels: args.panels.clone(),
        note: args.note.clone().unwrap_or_default(),
        person: args.person.clone().unwrap_or_default(),
        sets: args.sets.clone(),
        second_start_time: second.as_ref().map(stamp),
        second_from_step: args.second_from.clone().unwrap_or_default(),
        ..Job::default()
    };
    let book = BookJobRequest {
        request_id: request::new_id(),
        job: Some(job.clone()),
    };
    let answer = session.call(book).await?;
    let booked = answer.job.as_ref().unwrap_or(&job);
    let told = understood::job(printer.screen(), None, booked);
    tell_understood(printer, &answer, &told)
}

/// The car of a class and a colour: one of the book where it has that id, else a new one.
async fn car_of_class(
    session: &Session,
    class: CarClass,
    colour: &str,
    printer: &mut Printer,
) -> Result<String, Fault> {
    let id = ids::id_of(&format!("{} {colour}", word::word(class)));
    let known = session.once(GetCarRequest { car: id.clone() }).await;
    match known.ok().and_then(|answer| answer.car) {
        Some(car) if car.class() == class => return Ok(id),
        Some(car) => {
            return Err(Fault::usage(
                "--class",
                format!(
                    "The book has a car {id} already, of the class {}; name it with --car, or another colour.",
                    word::word(car.class())
                ),
            ));
        }
        None => {}
    }
    let create = CreateCarRequest {
        request_id: request::new_id(),
        car: Some(Car {
            car: id.clone(),
            class: class.into(),
            note: colour.trim().to_owned(),
            ..Car::default()
        }),
        validate_only: false,
    };
    session.call(create).await?;
    printer.remark(&format!("Set up the car {id}."));
    Ok(id)
}

/// What `job list` takes.
#[derive(Args, Debug)]
pub(crate) struct List {
    /// Only what stands so; without it all jobs
    #[arg(long, value_name = "WORD", value_parser = word::parser::<JobState>())]
    pub(crate) state: Option<JobState>,
    /// Write them into this new calendar file too, with what to wash and to order by when
    #[arg(long, value_name = "FILE")]
    pub(crate) ics: Option<PathBuf>,
    /// Overwrite that file if it is there
    #[arg(long, requires = "ics")]
    pub(crate) force: bool,
    #[command(flatten)]
    pub(crate) form: ListForm,
}

/// Lists the jobs.
/// It leaves nothing out unless asked to.
pub(crate) async fn list(
    session: &Session,
    args: &List,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = ListJobsRequest {
        state: args.state.unwrap_or_default().into(),
        ..ListJobsRequest::default()
    };
    args.form.choose(printer);
    let answer = page::every(session, asked).await?;
    if let Some(file) = &args.ics {
        let told = calendar::write(session, file, args.force, &answer.jobs).await?;
        printer.remark(&format!(
            "The calendar is in {}: {told}. Read it into a calendar again after a change; what moved is moved \
             there.",
            file.display()
        ));
    }
    printer.list(&answer, &answer.jobs, job::list)?;
    Ok(Exit::Done)
}

/// What `job show` takes.
#[derive(Args, Debug)]
pub(crate) struct Show {
    /// Id of the job
    #[arg(value_name = "JOB", value_parser = ids::id, add = ArgValueCompleter::new(complete::jobs))]
    pub(crate) job: String,
}

/// Shows the job.
pub(crate) async fn show(
    session: &Session,
    args: &Show,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = GetJobRequest {
        job: args.job.clone(),
    };
    let answer = session.call(asked).await?;
    shown(printer, &answer, answer.job.as_ref(), "the job", job::show)
}

/// What `job edit` takes.
#[derive(Args, Debug)]
pub(crate) struct Edit {
    /// Id of the job
    #[arg(value_name = "JOB", value_parser = ids::id, add = ArgValueCompleter::new(complete::jobs))]
    pub(crate) job: String,
    /// The car
    #[arg(long, value_name = "CAR", value_parser = ids::id, add = ArgValueCompleter::new(complete::cars))]
    pub(crate) car: Option<String>,
    /// The routine
    #[arg(long, value_name = "ROUTINE", value_parser = ids::id, add = ArgValueCompleter::new(complete::routines))]
    pub(crate) routine: Option<String>,
    /// When it starts, for example 'tomorrow 08:00' or 'thu 08:00'
    #[arg(long, value_name = "WHEN")]
    pub(crate) start: Option<String>,
    /// Where it is done
    #[arg(long, value_name = "PLACE", add = ArgValueCompleter::new(complete::places))]
    pub(crate) place: Option<String>,
    /// All panels that are left out, for example -roof,-bonnet
    #[arg(long, value_name = "PANELS", value_delimiter = ',', allow_hyphen_values = true,
          value_parser = options::panel_off)]
    pub(crate) panels: Vec<String>,
    /// No panel is left out any more
    #[arg(long, conflicts_with = "panels")]
    pub(crate) all_panels: bool,
    /// Sets a section of all steps that get more than one, anew, for example cut=2; cut=1 for one each
    #[arg(long, value_name = "STEP=COUNT", value_delimiter = ',', value_parser = options::sets)]
    pub(crate) sets: Vec<StepSets>,
    /// When it goes on, on a second day; none where it takes one
    #[arg(long, value_name = "WHEN")]
    pub(crate) second_day: Option<String>,
    /// The step that the second day begins with; '' for the one that parts the time most evenly
    #[arg(long, value_name = "STEP")]
    pub(crate) second_from: Option<String>,
    /// Who works it; '' for nobody named
    #[arg(long, value_name = "NAME")]
    pub(crate) person: Option<String>,
    /// Anything worth remembering
    #[arg(long, value_name = "TEXT")]
    pub(crate) note: Option<String>,
    #[command(flatten)]
    pub(crate) as_read: AsRead,
}

/// Changes the job.
/// Only what is given is changed.
pub(crate) async fn edit(
    session: &Session,
    args: &Edit,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let (mut job, paths) = args.change(session)?;
    job.etag = args.as_read.or(job.etag);
    let update = UpdateJobRequest {
        request_id: request::new_id(),
        job: Some(job),
        update_mask: Some(FieldMask {
            paths: paths.into_iter().map(str::to_owned).collect(),
        }),
    };
    let asked = GetJobRequest {
        job: args.job.clone(),
    };
    let old = session.call(asked.clone()).await?.job;
    let answer = session.call(update).await?;
    let new = session.call(asked).await?.job;
    let told = new.map(|new| understood::job(printer.screen(), old.as_ref(), &new));
    tell_understood(printer, &answer, &told.unwrap_or_default())
}

impl Edit {
    /// The job with what was given, and the mask that names it.
    fn change(&self, session: &Session) -> Result<(Job, Vec<&'static str>), Fault> {
        let mut job = Job {
            job: self.job.clone(),
            ..Job::default()
        };
        let mut paths = Vec::new();
        for (path, given, field) in [
            ("car", &self.car, &mut job.car),
            ("routine", &self.routine, &mut job.routine),
            ("place", &self.place, &mut job.place),
            ("note", &self.note, &mut job.note),
            ("person", &self.person, &mut job.person),
            (
                "second_from_step",
                &self.second_from,
                &mut job.second_from_step,
            ),
        ] {
            if let Some(text) = given {
                field.clone_from(text);
                paths.push(path);
            }
        }
        if let Some(text) = &self.start {
            let start = session.moment("--start", text, Toward::Ahead)?;
            job.start_time = Some(stamp(&start));
            job.utc_offset_s = i64::from(start.offset().seconds());
            paths.extend(["start_time", "utc_offset_s"]);
        }
        if !self.sets.is_empty() {
            job.sets.clone_from(&self.sets);
            paths.push("sets");
        }
        match self.second_day.as_deref() {
            None => {}
            Some("none") => paths.extend(["second_start_time", "second_from_step"]),
            Some(text) => {
                let second = session.moment("--second-day", text, Toward::Ahead)?;
                job.second_start_time = Some(stamp(&second));
                paths.push("second_start_time");
            }
        }
        if !self.panels.is_empty() || self.all_panels {
            job.left_out_panels.clone_from(&self.panels);
            paths.push("left_out_panels");
        }
        changes_something("job edit", &paths)?;
        Ok((job, paths))
    }
}

/// What `job call-off` takes.
#[derive(Args, Debug)]
pub(crate) struct CallOff {
    /// Id of the job
    #[arg(value_name = "JOB", value_parser = ids::id, add = ArgValueCompleter::new(complete::jobs))]
    pub(crate) job: String,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Calls it off.
/// The job stays in the book.
pub(crate) async fn call_off(
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

/// What `job plan` takes.
#[derive(Args, Debug)]
pub(crate) struct Plan {
    /// Id of the job
    #[arg(value_name = "JOB", value_parser = ids::id, add = ArgValueCompleter::new(complete::jobs))]
    pub(crate) job: String,
}

/// Shows the plan.
/// It does not look at the kit.
pub(crate) async fn plan(
    session: &Session,
    args: &Plan,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = PlanJobRequest {
        job: args.job.clone(),
    };
    let answer = session.call(asked).await?;
    shown(
        printer,
        &answer,
        answer.plan.as_ref(),
        "the plan",
        |screen, found| plan::show(screen, &args.job, found),
    )
}

/// What `job cost` takes.
#[derive(Args, Debug)]
pub(crate) struct Cost {
    /// Id of the job
    #[arg(value_name = "JOB", value_parser = ids::id, add = ArgValueCompleter::new(complete::jobs))]
    pub(crate) job: String,
    #[command(flatten)]
    pub(crate) paper: OnPaper,
    #[command(flatten)]
    pub(crate) form: ListForm,
}

/// Shows the costs.
/// After the job it says what it did cost and why that differs.
pub(crate) async fn cost(
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
    let costs = |ground: &Ground<'_>| paper::cost::html(ground, sheet);
    args.paper.put(session, "What it costs", printer, costs)?;
    if printer.form() == Form::Csv {
        printer.list::<_, CostLine>(&answer, &sheet.lines, |_, _| String::new())?;
    } else {
        printer.answer(&answer, |screen, _| cost::show(screen, sheet))?;
    }
    Ok(Exit::Done)
}
