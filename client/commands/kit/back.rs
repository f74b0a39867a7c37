//! `kit return TAG..`: brings pieces back from aside.
//!
//! It serves the closer look that found nothing wrong. A pad that comes back still wants a wash.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::ReturnKitRequest;

use crate::commands::common::{Told, record};
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;
use crate::request;

/// What `kit return` takes.
#[derive(Args, Debug)]
pub(crate) struct Return {
    /// Tags of what comes back
    #[arg(required = true, value_name = "TAG", add = ArgValueCompleter::new(complete::tags))]
    pub(crate) tags: Vec<String>,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Records that the pieces came back.
pub(crate) async fn perform(
    session: &Session,
    args: &Return,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = ReturnKitRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        tags: args.tags.clone(),
        kept: None,
    };
    record(session, printer, asked).await
}
