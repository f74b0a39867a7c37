//! `book verify`: reads the whole journal and says whether it is whole.
//!
//! It serves trust. A difference in what follows from the journal ends with exit code 3, damage of
//! the journal itself with 8.

use clap::Args;
use fettlebook_contract::v1::{VerifyBookRequest, VerifyBookResponse};

use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::{Printer, book};

/// What `book verify` takes: nothing.
#[derive(Args, Debug)]
pub(crate) struct Verify {}

/// Verifies the book.
pub(crate) async fn perform(
    session: &Session,
    _: &Verify,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let answer = session.call(VerifyBookRequest {}).await?;
    printer.answer(&answer, book::verified)?;
    tell_notes(&answer, printer);
    Ok(exit(&answer))
}

/// Tells what could not be looked at, beside the answer.
pub(crate) fn tell_notes(answer: &VerifyBookResponse, printer: &mut Printer) {
    for note in &answer.notes {
        let text = printer.screen().hung("", "", note);
        printer.say(&text);
    }
}

/// How a command ends that verified a book.
pub(crate) const fn exit(answer: &VerifyBookResponse) -> Exit {
    if answer.damaged {
        Exit::Damage
    } else if answer.whole {
        Exit::Done
    } else {
        Exit::No
    }
}
