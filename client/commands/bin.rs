//! `bin TAG.. --because WORD`: takes pieces out of the kit for good.
//!
//! It serves retirement and loss. The reason is never left out, because what pads die of is what
//! the book learns from.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{BinKitRequest, BinReason};
use fettlebook_quantity::{Count, parse_count};

use crate::commands::common::{Told, record};
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::Printer;
use crate::request;
use crate::word;

/// What `bin` takes.
#[derive(Args, Debug)]
pub(crate) struct Bin {
    /// Tags of what leaves the kit
    #[arg(required = true, value_name = "TAG", add = ArgValueCompleter::new(complete::tags))]
    pub(crate) tags: Vec<String>,
    /// Why
    #[arg(long, value_name = "WORD", value_parser = word::parser::<BinReason>())]
    pub(crate) because: BinReason,
    /// Towels taken out of a bundle; without it the whole bundle
    #[arg(long, value_name = "COUNT", value_parser = parse_count)]
    pub(crate) towels: Option<Count>,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Records that the pieces left the kit.
pub(crate) async fn perform(
    session: &Session,
    args: &Bin,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let bin = BinKitRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        tags: args.tags.clone(),
        reason: args.because.into(),
        count: args.towels.map(Count::get),
    };
    let kit = session.kit();
    record(printer, bin, |sent| {
        let mut kit = kit.clone();
        async move { kit.bin_kit(sent).await }
    })
    .await
}
