//! `car`: cars by class and colour, with their panels.
//!
//! It serves setting up. Areas that are not measured are the service's to estimate, and it says by
//! what.

use clap::{Args, Subcommand};
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{
    Car, CarClass, CreateCarRequest, GetCarRequest, GetCarResponse, ListCarsRequest,
    UpdateCarRequest,
};
use prost_types::FieldMask;

use self::panels::{PanelOptions, differing, named};
use crate::commands::common::{AsRead, ListForm};
use crate::commands::doubt::record_understood;
use crate::commands::noun::{changes_something, listed, shown};
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::figures::read::car_length;
use crate::ids;
use crate::render::{Printer, car, understood};
use crate::request;
use crate::word;

pub(crate) mod panels;
pub(crate) mod readings;

/// What can be done with cars.
#[derive(Debug, Subcommand)]
pub(crate) enum CarCommand {
    /// Set up a car
    Add(Add),
    /// List the cars
    List(List),
    /// Show one car with its panels
    Show(Show),
    /// Change a car
    Edit(Edit),
    /// Record what a gauge read of its film, before or after a job
    Readings(readings::Readings),
}

/// Performs one of them.
pub(crate) async fn perform(
    session: &Session,
    command: &CarCommand,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    match command {
        CarCommand::Add(args) => add(session, args, printer).await,
        CarCommand::List(args) => list(session, args, printer).await,
        CarCommand::Show(args) => show(session, args, printer).await,
        CarCommand::Edit(args) => edit(session, args, printer).await,
        CarCommand::Readings(args) => readings::perform(session, args, printer).await,
    }
}

/// What `car add` takes.
#[derive(Args, Debug)]
pub(crate) struct Add {
    /// Id to type from now on, for example medium-saloon-silver
    #[arg(value_name = "ID", value_parser = ids::id)]
    pub(crate) car: String,
    /// Class
    #[arg(long, value_name = "WORD", value_parser = word::parser::<CarClass>())]
    pub(crate) class: CarClass,
    /// Overall length, for example '4.6 metres'
    #[arg(long, value_name = "LENGTH", value_parser = car_length)]
    pub(crate) length: Option<i64>,
    /// Overall width without mirrors
    #[arg(long, value_name = "LENGTH", value_parser = car_length)]
    pub(crate) width: Option<i64>,
    /// Overall height
    #[arg(long, value_name = "LENGTH", value_parser = car_length)]
    pub(crate) height: Option<i64>,
    #[command(flatten)]
    pub(crate) panels: PanelOptions,
    /// Anything that tells it from others
    #[arg(long, value_name = "TEXT")]
    pub(crate) note: Option<String>,
}

/// Sets up the car.
/// A class is enough; measures make it better.
pub(crate) async fn add(
    session: &Session,
    args: &Add,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let mut panels = Vec::new();
    args.panels.put_into(&mut panels);
    let car = Car {
        car: args.car.clone(),
        class: args.class.into(),
        note: args.note.clone().unwrap_or_default(),
        length_mm: args.length,
        width_mm: args.width,
        height_mm: args.height,
        panels,
        ..Car::default()
    };
    let told = understood::car(None, &car);
    let create = CreateCarRequest {
        request_id: request::new_id(),
        car: Some(car),
        validate_only: false,
    };
    record_understood(session, printer, create, &told).await
}

/// What `car list` takes.
#[derive(Args, Debug)]
pub(crate) struct List {
    #[command(flatten)]
    pub(crate) form: ListForm,
}

/// Lists the cars.
pub(crate) async fn list(
    session: &Session,
    args: &List,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = ListCarsRequest::default();
    listed(
        session,
        printer,
        args.form,
        asked,
        |answer| answer.cars.as_slice(),
        car::list,
    )
    .await
}

/// What `car show` takes.
#[derive(Args, Debug)]
pub(crate) struct Show {
    /// Id of the car
    #[arg(value_name = "CAR", value_parser = ids::id, add = ArgValueCompleter::new(complete::cars))]
    pub(crate) car: String,
}

/// Shows the car.
pub(crate) async fn show(
    session: &Session,
    args: &Show,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let answer = read(session, &args.car).await?;
    let held = answer.car.is_some().then_some(&answer);
    shown(printer, &answer, held, "the car", car::show)
}

/// Reads one car.
///
/// # Errors
/// When it is not known.
pub(crate) async fn read(session: &Session, id: &str) -> Result<GetCarResponse, Fault> {
    let asked = GetCarRequest { car: id.to_owned() };
    session.call(asked).await
}

/// What `car edit` takes.
#[derive(Args, Debug)]
pub(crate) struct Edit {
    /// Id of the car
    #[arg(value_name = "CAR", value_parser = ids::id, add = ArgValueCompleter::new(complete::cars))]
    pub(crate) car: String,
    /// Class
    #[arg(long, value_name = "WORD", value_parser = word::parser::<CarClass>())]
    pub(crate) class: Option<CarClass>,
    /// Overall length, for example '4.6 metres'
    #[arg(long, value_name = "LENGTH", value_parser = car_length)]
    pub(crate) length: Option<i64>,
    /// Overall width without mirrors
    #[arg(long, value_name = "LENGTH", value_parser = car_length)]
    pub(crate) width: Option<i64>,
    /// Overall height
    #[arg(long, value_name = "LENGTH", value_parser = car_length)]
    pub(crate) height: Option<i64>,
    #[command(flatten)]
    pub(crate) panels: PanelOptions,
    /// Panels that are polished again
    #[arg(long, value_name = "PANELS", value_delimiter = ',')]
    pub(crate) take_in: Vec<String>,
    /// Anything that tells it from others
    #[arg(long, value_name = "TEXT")]
    pub(crate) note: Option<String>,
    #[command(flatten)]
    pub(crate) as_read: AsRead,
}

/// Changes the car.
/// Panels that are not named keep what is known of them.
pub(crate) async fn edit(
    session: &Session,
    args: &Edit,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let known = read(session, &args.car)
        .await?
        .car
        .ok_or_else(|| Fault::answer("the car"))?;
    let (mut car, paths) = args.change(known.clone())?;
    let told = understood::car(Some(&known), &car);
    car.etag = args.as_read.or(car.etag);
    let update = UpdateCarRequest {
        request_id: request::new_id(),
        car: Some(car),
        update_mask: Some(FieldMask { paths }),
        validate_only: false,
    };
    record_understood(session, printer, update, &told).await
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
        let every: Vec<String> = car.panels.iter().map(|panel| panel.panel.clone()).collect();
        car.panels = differing(car.panels);
        if !self.panels.is_empty() || !self.take_in.is_empty() {
            self.panels.of_every(&every).put_into(&mut car.panels);
            for panel in &self.take_in {
                named(&mut car.panels, panel, |found| found.left_out = false);
            }
            paths.push("panels");
        }
        changes_something("car edit", &paths)?;
        Ok((car, paths.into_iter().map(str::to_owned).collect()))
    }
}
