//! `job add ID`: books a job.
//!
//! It serves the phone call. A start that is past is the service's to refuse.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{BookJobRequest, Job};

use crate::commands::common::record;
use crate::complete;
use crate::connect::{Session, stamp};
use crate::exit::Exit;
use crate::fault::Fault;
use crate::options;
use crate::render::Printer;
use crate::request;
use crate::when::Toward;

/// What `job add` takes.
#[derive(Args, Debug)]
pub(crate) struct Add {
    /// Id to type from now on, for example saloon-thursday
    #[arg(value_name = "ID")]
    pub(crate) job: String,
    /// The car
    #[arg(long, value_name = "CAR", add = ArgValueCompleter::new(complete::cars))]
    pub(crate) car: String,
    /// The routine
    #[arg(long, value_name = "ROUTINE", add = ArgValueCompleter::new(complete::routines))]
    pub(crate) routine: String,
    /// When it starts, for example 'tomorrow 08:00' or 'thu 08:00'
    #[arg(long, value_name = "WHEN")]
    pub(crate) start: String,
    /// Where it is done, for example van-a; without it the bench
    #[arg(long, value_name = "PLACE", add = ArgValueCompleter::new(complete::places))]
    pub(crate) place: Option<String>,
    /// Panels that are left out, for example -roof,-bonnet
    #[arg(long, value_name = "PANELS", value_delimiter = ',', allow_hyphen_values = true,
          value_parser = options::panel_off)]
    pub(crate) panels: Vec<String>,
    /// Anything worth remembering
    #[arg(long, value_name = "TEXT")]
    pub(crate) note: Option<String>,
}

/// The place of whoever names none.
const BENCH: &str = "bench";

/// Books the job.
pub(crate) async fn perform(
    session: &Session,
    args: &Add,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let start = session.moment("--start", &args.start, Toward::Ahead)?;
    let book = BookJobRequest {
        request_id: request::new_id(),
        job: Some(Job {
            job: args.job.clone(),
            car: args.car.clone(),
            routine: args.routine.clone(),
            place: args.place.clone().unwrap_or_else(|| BENCH.to_owned()),
            start_time: Some(stamp(&start)),
            utc_offset_s: i64::from(start.offset().seconds()),
            left_out_panels: args.panels.clone(),
            note: args.note.clone().unwrap_or_default(),
            ..Job::default()
        }),
    };
    record(session, printer, book).await
}
