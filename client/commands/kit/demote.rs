//! `kit demote TAG --to WORD`: takes a bundle of towels down to a lower use.
//!
//! It serves towels that are past the paint. They go down the list, never up.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{DemoteTowelsRequest, TowelGrade};

use crate::commands::common::{Told, record};
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;
use crate::request;
use crate::word;

/// What `kit demote` takes.
#[derive(Args, Debug)]
pub(crate) struct Demote {
    /// Tag of the bundle
    #[arg(value_name = "TAG", add = ArgValueCompleter::new(complete::tags))]
    pub(crate) tag: String,
    /// Its new use
    #[arg(long, value_name = "WORD", value_parser = word::parser::<TowelGrade>())]
    pub(crate) to: TowelGrade,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Records the new use.
pub(crate) async fn perform(
    session: &Session,
    args: &Demote,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = DemoteTowelsRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        tag: args.tag.clone(),
        grade: args.to.into(),
        kept: None,
    };
    record(session, printer, asked).await
}
