//! What is alike for every noun: it is listed, one of it is shown, and an edit names what it changes.

use fettlebook_contract::call::Paged;
use prost::{Message, Name};

use crate::commands::common::ListForm;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::page;
use crate::render::{Printer, Screen};

/// Lists all that was asked for; `rows` finds them in the answer.
///
/// # Errors
/// What the service refused, or an answer that cannot be put out in the form.
pub(crate) async fn listed<C, R>(
    session: &Session,
    printer: &mut Printer,
    form: ListForm,
    asked: C,
    rows: impl FnOnce(&C::Answer) -> &[R],
    text: impl FnOnce(&Screen, &[R]) -> String,
) -> Result<Exit, Fault>
where
    C: Paged<Answer: Message + Name>,
    R: Message + Name,
{
    form.choose(printer);
    let answer = page::every(session, asked).await?;
    printer.list(&answer, rows(&answer), text)?;
    Ok(Exit::Done)
}

/// Shows the one that an answer holds; `what` names it where the answer holds none.
///
/// # Errors
/// When the answer holds none.
pub(crate) fn shown<A: Message + Name, T>(
    printer: &mut Printer,
    answer: &A,
    held: Option<&T>,
    what: &str,
    text: impl FnOnce(&Screen, &T) -> String,
) -> Result<Exit, Fault> {
    let held = held.ok_or_else(|| Fault::answer(what))?;
    printer.answer(answer, |screen, _| text(screen, held))?;
    Ok(Exit::Done)
}

/// Refuses an edit that names nothing.
///
/// # Errors
/// When no path is among those that are edited.
pub(crate) fn changes_something<P>(command: &str, paths: &[P]) -> Result<(), Fault> {
    if paths.is_empty() {
        let why = "Nothing to change was given; --help lists what can be.";
        let help = format!("fettle {command} --help");
        return Err(Fault::usage(command, why).with_example(&help));
    }
    Ok(())
}
