//! `make show ID`: one make with every figure.
//!
//! It serves checking a figure against the label or the data sheet.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::GetMakeRequest;

use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::{Printer, make};

/// What `make show` takes.
#[derive(Args, Debug)]
pub(crate) struct Show {
    /// Id of the make
    #[arg(value_name = "MAKE", add = ArgValueCompleter::new(complete::makes))]
    pub(crate) make: String,
}

/// Shows the make.
pub(crate) async fn perform(
    session: &Session,
    args: &Show,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = GetMakeRequest {
        make: args.make.clone(),
    };
    let answer = session.call(asked).await?;
    printer.answer(&answer, |screen, answer| {
        answer
            .make
            .as_ref()
            .map_or_else(String::new, |found| make::show(screen, found))
    })?;
    Ok(Exit::Done)
}
