//! `car show ID`: one car with its panels.
//!
//! It serves seeing which areas are measured and which are estimated.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{GetCarRequest, GetCarResponse};

use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::{Printer, car};

/// What `car show` takes.
#[derive(Args, Debug)]
pub(crate) struct Show {
    /// Id of the car
    #[arg(value_name = "CAR", add = ArgValueCompleter::new(complete::cars))]
    pub(crate) car: String,
}

/// Shows the car.
pub(crate) async fn perform(
    session: &Session,
    args: &Show,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let answer = read(session, &args.car).await?;
    printer.answer(&answer, |screen, answer| {
        answer
            .car
            .as_ref()
            .map_or_else(String::new, |found| car::show(screen, found))
    })?;
    Ok(Exit::Done)
}

/// Reads one car.
///
/// # Errors
/// When it is not known.
pub(crate) async fn read(session: &Session, id: &str) -> Result<GetCarResponse, Fault> {
    let asked = GetCarRequest { car: id.to_owned() };
    session.call(asked).await
}
