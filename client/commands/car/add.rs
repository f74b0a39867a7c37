//! `car add ID`: sets up a car.
//!
//! It serves the first visit of a car. A class is enough; measures make it better.

use clap::Args;
use fettlebook_contract::v1::{Car, CarClass, CreateCarRequest};

use crate::commands::car::panels::PanelOptions;
use crate::commands::common::record;
use crate::commands::make::figures::millimetres;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;
use crate::request;
use crate::word;

/// What `car add` takes.
#[derive(Args, Debug)]
pub(crate) struct Add {
    /// Id to type from now on, for example medium-saloon-silver
    #[arg(value_name = "ID")]
    pub(crate) car: String,
    /// Class
    #[arg(long, value_name = "WORD", value_parser = word::parser::<CarClass>())]
    pub(crate) class: CarClass,
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
    /// Anything that tells it from others
    #[arg(long, value_name = "TEXT")]
    pub(crate) note: Option<String>,
}

/// Sets up the car.
pub(crate) async fn perform(
    session: &Session,
    args: &Add,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let mut panels = Vec::new();
    args.panels.put_into(&mut panels);
    let create = CreateCarRequest {
        request_id: request::new_id(),
        car: Some(Car {
            car: args.car.clone(),
            class: args.class.into(),
            note: args.note.clone().unwrap_or_default(),
            length_mm: args.length,
            width_mm: args.width,
            height_mm: args.height,
            panels,
        }),
    };
    record(session, printer, create).await
}
