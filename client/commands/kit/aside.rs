//! `kit aside TAG.. --because WORD`: keeps pieces off paint for a reason.
//!
//! It serves what fell or touched the wrong liquid. What is set aside stays in the kit.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{AsideReason, SetAsideRequest};

use crate::commands::common::{Told, record};
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;
use crate::request;
use crate::word;

/// What `kit aside` takes.
#[derive(Args, Debug)]
pub(crate) struct Aside {
    /// Tags of what is set aside
    #[arg(required = true, value_name = "TAG", add = ArgValueCompleter::new(complete::tags))]
    pub(crate) tags: Vec<String>,
    /// Why
    #[arg(long, value_name = "WORD", value_parser = word::parser::<AsideReason>())]
    pub(crate) because: AsideReason,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Records that the pieces were set aside.
pub(crate) async fn perform(
    session: &Session,
    args: &Aside,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = SetAsideRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        tags: args.tags.clone(),
        reason: args.because.into(),
        kept: None,
    };
    record(session, printer, asked).await
}
