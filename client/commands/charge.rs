//! `charge BT-01..`: records that batteries were put on the charger.
//!
//! Without tags it lists what is empty, and Enter records all of it. When a battery is full again is the
//! service's to say.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{ChargeBatteriesRequest, ChargeBatteriesResponse, GetTodayRequest};

use crate::ask::{is_so, somebody_is_there};
use crate::commands::common::Told;
use crate::commands::doubt::record_if_meant;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::{Form, Printer, today};
use crate::request;
use crate::tags::{self, All};

/// What goes with every charge. Basis: from memory; label and manual say more.
const CAUTION: &str = "Charge as battery and charger say; leave one off that is swollen, damaged or hot, and set it \
                       aside.";

/// What `charge` takes.
#[derive(Args, Debug)]
pub(crate) struct Charge {
    /// Batteries that are on the charger: BT-01..BT-03, BT1,BT2, all for whatever is empty; without any that is
    /// listed, and Enter records it
    #[arg(value_name = "TAG", add = ArgValueCompleter::new(complete::empty))]
    pub(crate) tags: Vec<String>,
    #[command(flatten)]
    pub(crate) told: Told,
}

/// Records it.
pub(crate) async fn perform(
    session: &Session,
    args: &Charge,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let tags = if args.tags.is_empty() {
        let Some(empty) = shown(session, printer).await? else {
            let nothing = ChargeBatteriesResponse::default();
            printer.answer(&nothing, |_, _| "No battery is empty.".to_owned())?;
            return Ok(Exit::Done);
        };
        empty
    } else {
        tags::named(session, &args.tags, All::Empty, printer).await?
    };
    let charge = ChargeBatteriesRequest {
        request_id: request::new_id(),
        done_time: args.told.done_time(session)?,
        note: args.told.note(),
        tags,
        validate_only: false,
        kept: None,
    };
    let done = record_if_meant(session, printer, charge).await?;
    if printer.form() == Form::People {
        let caution = printer.screen().hung("", "", CAUTION);
        printer.say(&caution);
    }
    Ok(done)
}

/// The tags of all that is empty, once it was shown and said to be on the charger; nothing where nothing is.
async fn shown(session: &Session, printer: &mut Printer) -> Result<Option<Vec<String>>, Fault> {
    let mut empty = session.call(GetTodayRequest::default()).await?.to_charge;
    // What is in a van is charged on the van, and nothing else there.
    if let Some(van) = session.van() {
        empty.retain(|one| one.place == van);
    }
    if empty.is_empty() {
        return Ok(None);
    }
    if printer.form() != Form::Json {
        let page = today::empty(printer.screen(), &empty);
        printer.page(&page);
    }
    if !somebody_is_there(printer) {
        let mut fault = Fault::usage("TAG", "Which batteries are on the charger was not said.");
        fault.todo =
            "'fettle charge all' records all that are empty, 'fettle charge BT-01' this one."
                .to_owned();
        return Err(fault);
    }
    printer.flush();
    if !is_so("On the charger, all of them?")? {
        return Err(Fault::own(
            "NOT_MEANT",
            Exit::No,
            "Nothing was recorded.",
            "Name what is on the charger, for example 'fettle charge BT-01'.",
        ));
    }
    let tags = empty.into_iter().flat_map(|one| one.tags);
    Ok(Some(tags.collect()))
}
