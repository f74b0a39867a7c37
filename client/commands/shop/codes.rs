//! `shop codes`: the pairing codes that nobody has used yet, and ending one.

use clap::Args;
use fettlebook_contract::v1::{ListCodesRequest, WithdrawCodeRequest};

use crate::commands::common::ListForm;
use crate::commands::noun::listed;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::{Printer, shop as words};

/// What `shop codes` takes.
#[derive(Args, Debug)]
pub(crate) struct Codes {
    /// End the code that was made for this name: it lets nobody in any more
    #[arg(long, value_name = "NAME", conflicts_with = "csv")]
    pub(crate) withdraw: Option<String>,
    #[command(flatten)]
    pub(crate) form: ListForm,
}

/// Lists the codes that are open, or ends one.
pub(crate) async fn perform(
    session: &Session,
    args: &Codes,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    super::is_shared(session)?;
    if let Some(name) = &args.withdraw {
        let asked = WithdrawCodeRequest { name: name.clone() };
        let answer = session.call(asked).await?;
        printer.answer(&answer, |screen, answer| {
            let code = answer.code.as_ref();
            code.map_or_else(String::new, |code| words::withdrawn(screen, code))
        })?;
        return Ok(Exit::Done);
    }
    listed(
        session,
        printer,
        args.form,
        ListCodesRequest::default(),
        |answer| answer.codes.as_slice(),
        words::codes,
    )
    .await
}
