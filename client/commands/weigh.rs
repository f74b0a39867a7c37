//! `weigh B-03=412g ..`: records the weight of bottles, from which what is left follows.
//!
//! It serves whoever has a scale at the bench. It turns no weight into a volume itself.

use clap::Args;
use fettlebook_contract::v1::{WeighBottlesRequest, Weighing};

use crate::commands::common::Told;
use crate::commands::doubt::record_if_meant;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::options;
use crate::render::Printer;
use crate::request;

/// What `weigh` takes.
#[derive(Args, Debug)]
pub(crate) struct Weigh {
    /// Bottle and its weight as it stands with its cap, for example B-03=412g
    #[arg(required = true, value_name = "BOTTLE=WEIGHT", value_parser = options::weighing)]
    pub(crate) weighings: Vec<Weighing>,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Records the weigh-ins.
pub(crate) async fn perform(
    session: &Session,
    args: &Weigh,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let weigh = WeighBottlesRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        weighings: args.weighings.clone(),
        validate_only: false,
        kept: None,
    };
    record_if_meant(session, printer, weigh).await
}
