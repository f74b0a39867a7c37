//! `kit dry TAG..`: says that washed pieces are dry now.
//!
//! It serves whoever felt the pad: a hand on it knows better than the clock.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::MarkDryRequest;

use crate::commands::common::{Told, record};
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;
use crate::request;

/// What `kit dry` takes.
#[derive(Args, Debug)]
pub(crate) struct Dry {
    /// Tags of what is dry
    #[arg(required = true, value_name = "TAG", add = ArgValueCompleter::new(complete::tags))]
    pub(crate) tags: Vec<String>,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Records that the pieces are dry.
pub(crate) async fn perform(
    session: &Session,
    args: &Dry,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let asked = MarkDryRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        tags: args.tags.clone(),
        kept: None,
    };
    record(session, printer, asked).await
}
