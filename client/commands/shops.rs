//! `shops`: every shop that this device may see, a line each, the one first that wants somebody most.
//!
//! It serves the office. What is not said in a line is not known here: nothing is worked out.

use clap::Args;
use fettlebook_contract::v1::ListShopsRequest;

use crate::commands::common::ListForm;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::page;
use crate::render::{Form, Printer, shops as words};

/// What `shops` takes.
#[derive(Args, Debug)]
pub(crate) struct Shops {
    #[command(flatten)]
    pub(crate) form: ListForm,
}

/// Lists the shops, and says which lines are old.
pub(crate) async fn perform(
    session: &Session,
    args: &Shops,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    args.form.choose(printer);
    let mut answer = page::every(session, ListShopsRequest::default()).await?;
    answer.shops.sort_by_cached_key(words::place);
    let now = answer.service_time;
    printer.list(&answer, &answer.shops, |screen, shops| {
        words::shops(screen, shops, now.as_ref())
    })?;
    if printer.form() == Form::People {
        for line in words::trouble(&answer) {
            printer.say(&printer.screen().hung("", "", &line));
        }
        for line in words::remarks(&answer) {
            printer.remark(&printer.screen().hung("", "", &line));
        }
    }
    Ok(Exit::Done)
}
