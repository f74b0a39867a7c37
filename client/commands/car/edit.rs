//! `car edit ID`: changes a car.
//!
//! It serves measures taken later. Panels that are not named keep what is known of them.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{Car, CarClass, UpdateCarRequest};
use prost_types::FieldMask;

use crate::commands::car::panels::{PanelOptions, differing, named};
use crate::commands::car::show::read;
use crate::commands::common::record;
use crate::commands::make::figures::millimetres;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;
use crate::request;
use crate::word;

/// What `car edit` takes.
#[derive(Args, Debug)]
pub(crate) struct Edit {
    /// Id of the car
    #[arg(value_name = "CAR", add = ArgValueCompleter::new(complete::cars))]
    pub(crate) car: String,
    /// Class
    #[arg(long, value_name = "WORD", value_parser = word::parser::<CarClass>())]
    pub(crate) class: Option<CarClass>,
    /// Overall length, for example '4.6 metres'
    #[arg(long, value_name = "LENGTH", value_parser = millimetres)]
    pub(crate) length: Option<i64>,
    /// Overall width without mirrors
    #[arg(long, value_name = "LENGTH", value_parser = millimetres)]
    pub(crate) width: Option<i64>,
    /// Overall height
    #[arg(long, value_name = "LENGTH", value_parser = millimetres)]
    pub(crate) height: Option<i64>,
    #[command(flatten)]
    pub(crate) panels: PanelOptions,
    /// Panels that are polished again
    #[arg(long, value_name = "PANELS", value_delimiter = ',')]
    pub(crate) take_in: Vec<String>,
    /// Anything that tells it from others
    #[arg(long, value_name = "TEXT")]
    pub(crate) note: Option<String>,
}

/// Changes the car.
pub(crate) async fn perform(
    session: &Session,
    args: &Edit,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let known = read(session, &args.car)
        .await?
        .car
        .ok_or_else(|| Fault::answer("the car"))?;
    let (car, paths) = args.change(known)?;
    let update = UpdateCarRequest {
        request_id: request::new_id(),
        car: Some(car),
        update_mask: Some(FieldMask { paths }),
    };
    record(session, printer, update).await
}

impl Edit {
    /// The car with what was given, and the mask that names it.
    fn change(&self, mut car: Car) -> Result<(Car, Vec<String>), Fault> {
        let mut paths = Vec::new();
        if let Some(class) = self.class {
            car.set_class(class);
            paths.push("class");
        }
        if let Some(note) = &self.note {
            car.note.clone_from(note);
            paths.push("note");
        }
        for (path, given, field) in [
            ("length_mm", self.length, &mut car.length_mm),
            ("width_mm", self.width, &mut car.width_mm),
            ("height_mm", self.height, &mut car.height_mm),
        ] {
            if given.is_some() {
                *field = given;
                paths.push(path);
            }
        }
        car.panels = differing(car.panels);
        if !self.panels.is_empty() || !self.take_in.is_empty() {
            self.panels.put_into(&mut car.panels);
            for panel in &self.take_in {
                named(&mut car.panels, panel, |found| found.left_out = false);
            }
            paths.push("panels");
        }
        if paths.is_empty() {
            return Err(Fault::usage(
                "car edit",
                "Nothing to change was given; --help lists what can be.",
            ));
        }
        Ok((car, paths.into_iter().map(str::to_owned).collect()))
    }
}
