//! `book policy`: every default the model works with, its value and where it comes from.
//!
//! It serves whoever doubts a figure. None is hidden.

use clap::Args;
use fettlebook_contract::v1::GetPolicyRequest;

use crate::commands::common::ListForm;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::{Printer, book};

/// What `book policy` takes.
#[derive(Args, Debug)]
pub(crate) struct Policy {
    #[command(flatten)]
    pub(crate) form: ListForm,
}

/// Shows the policy.
pub(crate) async fn perform(
    session: &Session,
    args: &Policy,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    args.form.choose(printer);
    let answer = session.call(GetPolicyRequest {}).await?;
    printer.list(&answer, &answer.lines, book::policy)?;
    Ok(Exit::Done)
}
