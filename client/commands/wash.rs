//! `wash TAG..`: records a wash of pads and towels, and what a look at the clean pads found.
//!
//! It serves the end of the day. When a piece is dry again is the service's to say.

mod soiled;

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{Inspection, WashKitRequest, WashKitResponse};

use crate::commands::common::Told;
use crate::commands::doubt::record_if_meant;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::options;
use crate::render::Printer;
use crate::request;
use crate::tags::{self, All};

/// What `wash` takes.
#[derive(Args, Debug)]
pub(crate) struct Wash {
    /// Tags of what was washed: P-01..P-09, P1,P2, all for whatever is soiled; without any that is listed, and
    /// Enter records it
    #[arg(value_name = "TAG", add = ArgValueCompleter::new(complete::soiled))]
    pub(crate) tags: Vec<String>,
    /// What a look at a washed pad found, each from 1 (bad) to 5 (as new): 'P-01=rebound 4, edge 3,
    /// face 5'
    #[arg(long, value_name = "LOOK", value_parser = options::look)]
    pub(crate) look: Vec<Inspection>,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Records the wash.
pub(crate) async fn perform(
    session: &Session,
    args: &Wash,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let tags = if args.tags.is_empty() {
        let Some(soiled) = soiled::shown(session, printer).await? else {
            let nothing = WashKitResponse::default();
            printer.answer(&nothing, |_, _| "Nothing is soiled.".to_owned())?;
            return Ok(Exit::Done);
        };
        soiled
    } else {
        tags::named(session, &args.tags, All::Soiled, printer).await?
    };
    let wash = WashKitRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        tags,
        inspections: args.look.clone(),
        validate_only: false,
        kept: None,
    };
    record_if_meant(session, printer, wash).await
}
