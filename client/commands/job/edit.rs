//! `job edit ID`: changes a booked job.
//!
//! It serves the second phone call. Only what is given is changed.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{Job, UpdateJobRequest};
use prost_types::FieldMask;

use crate::commands::common::record;
use crate::complete;
use crate::connect::{Session, stamp};
use crate::exit::Exit;
use crate::fault::Fault;
use crate::options;
use crate::render::Printer;
use crate::request;
use crate::when::Toward;

/// What `job edit` takes.
#[derive(Args, Debug)]
pub(crate) struct Edit {
    /// Id of the job
    #[arg(value_name = "JOB", add = ArgValueCompleter::new(complete::jobs))]
    pub(crate) job: String,
    /// The car
    #[arg(long, value_name = "CAR", add = ArgValueCompleter::new(complete::cars))]
    pub(crate) car: Option<String>,
    /// The routine
    #[arg(long, value_name = "ROUTINE", add = ArgValueCompleter::new(complete::routines))]
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
    /// Anything worth remembering
    #[arg(long, value_name = "TEXT")]
    pub(crate) note: Option<String>,
}

/// Changes the job.
pub(crate) async fn perform(
    session: &Session,
    args: &Edit,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let (job, paths) = args.change(session)?;
    let update = UpdateJobRequest {
        request_id: request::new_id(),
        job: Some(job),
        update_mask: Some(FieldMask {
            paths: paths.into_iter().map(str::to_owned).collect(),
        }),
    };
    record(session, printer, update).await
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
        if !self.panels.is_empty() || self.all_panels {
            job.left_out_panels.clone_from(&self.panels);
            paths.push("left_out_panels");
        }
        if paths.is_empty() {
            return Err(Fault::usage(
                "job edit",
                "Nothing to change was given; --help lists what can be.",
            ));
        }
        Ok((job, paths))
    }
}
