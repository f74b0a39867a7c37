//! `kit list`: the kit, by tag.
//!
//! It serves a look round. Binned pieces are left out unless they are asked for.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{ListPiecesRequest, Readiness};

use crate::commands::common::ListForm;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::page;
use crate::render::{Printer, kit};
use crate::word;

/// What `kit list` takes.
#[derive(Args, Debug)]
pub(crate) struct List {
    /// Only what is there, for example van-a
    #[arg(long, value_name = "PLACE", add = ArgValueCompleter::new(complete::places))]
    pub(crate) place: Option<String>,
    /// Only this make
    #[arg(long, value_name = "MAKE", add = ArgValueCompleter::new(complete::makes))]
    pub(crate) make: Option<String>,
    /// Only what is so
    #[arg(long, value_name = "WORD", value_parser = word::parser::<Readiness>())]
    pub(crate) readiness: Option<Readiness>,
    /// What is binned too
    #[arg(long)]
    pub(crate) binned: bool,
    #[command(flatten)]
    pub(crate) form: ListForm,
}

/// Lists the kit.
pub(crate) async fn perform(
    session: &Session,
    args: &List,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    args.form.choose(printer);
    let asked = ListPiecesRequest {
        place: args.place.clone().unwrap_or_default(),
        make: args.make.clone().unwrap_or_default(),
        readiness: args.readiness.unwrap_or_default().into(),
        show_binned: args.binned || args.readiness == Some(Readiness::Binned),
        ..ListPiecesRequest::default()
    };
    let answer = page::every(session, asked).await?;
    printer.list(&answer, &answer.pieces, kit::list)?;
    Ok(Exit::Done)
}
