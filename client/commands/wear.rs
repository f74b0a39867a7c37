//! `wear [MAKE]`: what pad makes really last in this shop, and what is left of each pad.
//!
//! It serves buying, quoting and the wall of the workshop. It works nothing out: the curve, the
//! ranges and the sentences are the service's.

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{ListMakeWearRequest, ListMakeWearResponse};

use crate::commands::common::ListForm;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::page;
use crate::render::{Form, Printer, wear};

/// What `wear` takes.
#[derive(Args, Debug)]
pub(crate) struct Wear {
    /// Id of a pad make; without it every make that has pads
    #[arg(value_name = "MAKE", add = ArgValueCompleter::new(complete::makes))]
    pub(crate) make: Option<String>,
    #[command(flatten)]
    pub(crate) form: ListForm,
}

/// Shows the wear.
pub(crate) async fn perform(
    session: &Session,
    args: &Wear,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    args.form.choose(printer);
    let answer = fetched(session, args).await?;
    match answer.wear.as_slice() {
        [make] if args.make.is_some() && printer.form() == Form::Csv => {
            printer.list(&answer, &make.pads, |_, _| String::new())?;
        }
        [make] if args.make.is_some() => {
            printer.answer(&answer, |screen, _| wear::show(screen, make))?;
        }
        all => printer.list(&answer, all, wear::list)?,
    }
    Ok(Exit::Done)
}

async fn fetched(session: &Session, args: &Wear) -> Result<ListMakeWearResponse, Fault> {
    let asked = ListMakeWearRequest {
        make: args.make.clone().unwrap_or_default(),
        ..ListMakeWearRequest::default()
    };
    let kit = session.kit();
    page::every(asked, |sent| {
        let mut kit = kit.clone();
        async move { kit.list_make_wear(sent).await }
    })
    .await
}
