//! `move TAG.. --to PLACE`: takes pieces to another place.
//!
//! It serves loading and unloading a van. A place needs no setting up.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::MoveKitRequest;

use crate::commands::common::{Told, record};
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;
use crate::request;

/// What `move` takes.
#[derive(Args, Debug)]
pub(crate) struct Move {
    /// Tags of what is moved
    #[arg(required = true, value_name = "TAG", add = ArgValueCompleter::new(complete::tags))]
    pub(crate) tags: Vec<String>,
    /// Where it goes, for example van-a
    #[arg(long, value_name = "PLACE", add = ArgValueCompleter::new(complete::places))]
    pub(crate) to: String,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Records the move.
pub(crate) async fn perform(
    session: &Session,
    args: &Move,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let moved = MoveKitRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        tags: args.tags.clone(),
        place: args.to.clone(),
        kept: None,
    };
    record(session, printer, moved).await
}
