//! Letting whoever sits at a terminal think again before something odd is recorded.
//!
//! It serves the commands that tell what happened. What is odd the service says, as flags of the entry
//! that would be recorded; where nobody can be asked it is recorded and flagged.

use fettlebook_contract::call::{Recorded, Unary};
use fettlebook_contract::v1::{
    ChargeBatteriesRequest, CountKitRequest, CreateCarRequest, FillBottleRequest, Flag,
    RecordFilmRequest, UpdateCarRequest, WashKitRequest, WeighBottlesRequest,
};

use crate::ask::{is_it_so, somebody_is_there};
use crate::commands::common::tell_understood;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::entry::Understood;
use crate::render::{Printer, Screen};

/// A request that can be looked at before it is recorded.
pub(crate) trait Looked: Unary<Answer: Recorded> {
    /// The same, to be looked at alone.
    fn to_look(&self) -> Self;
}

macro_rules! looked {
    ($($request:ident),+ $(,)?) => {
        $(impl Looked for $request {
            fn to_look(&self) -> Self {
                Self { validate_only: true, ..self.clone() }
            }
        })+
    };
}

looked!(
    WashKitRequest,
    WeighBottlesRequest,
    FillBottleRequest,
    CountKitRequest,
    ChargeBatteriesRequest,
    CreateCarRequest,
    UpdateCarRequest,
    RecordFilmRequest,
);

/// Sends a request that records something, once it is meant, and prints the entry.
///
/// # Errors
/// What the service refused, or that it was not meant.
pub(crate) async fn record_if_meant<C: Looked>(
    session: &Session,
    printer: &mut Printer,
    request: C,
) -> Result<Exit, Fault> {
    record_understood(session, printer, request, &[]).await
}

/// The same, and below the entry how what was set was understood.
///
/// # Errors
/// As [`record_if_meant`].
pub(crate) async fn record_understood<C: Looked>(
    session: &Session,
    printer: &mut Printer,
    request: C,
    understood: &[Understood],
) -> Result<Exit, Fault> {
    ask_first(session, printer, &request).await?;
    let answer = session.call(request).await?;
    tell_understood(printer, &answer, understood)
}

/// The same, and tells the answer in a way of its own.
///
/// # Errors
/// As [`record_if_meant`].
pub(crate) async fn record_told<C: Looked>(
    session: &Session,
    printer: &mut Printer,
    request: C,
    told: impl FnOnce(&Screen, &C::Answer) -> String,
) -> Result<Exit, Fault> {
    ask_first(session, printer, &request).await?;
    let answer = session.call(request).await?;
    if answer.entry().is_none() {
        return Err(Fault::answer("the entry"));
    }
    printer.answer(&answer, told)?;
    Ok(Exit::Done)
}

/// Asks whether what is odd about a request is meant, where somebody can be asked.
async fn ask_first<C: Looked>(
    session: &Session,
    printer: &mut Printer,
    request: &C,
) -> Result<(), Fault> {
    if !somebody_is_there(printer) {
        return Ok(());
    }
    let answer = session.call(request.to_look()).await?;
    let flags = answer.entry().map(|entry| &*entry.flags);
    meant(flags.unwrap_or_default(), printer, true)
}

/// Asks whether what is odd is meant, where somebody can be asked; says what it is if it was not said.
///
/// # Errors
/// When it is not meant. Nothing was recorded then.
pub(crate) fn meant(flags: &[Flag], printer: &mut Printer, say: bool) -> Result<(), Fault> {
    if flags.is_empty() || !somebody_is_there(printer) {
        return Ok(());
    }
    if say {
        for flag in flags {
            let text = printer.screen().hung("", "", &flag.text);
            printer.say(&text);
        }
    }
    if is_it_so("Record it all the same?")? {
        return Ok(());
    }
    Err(not_meant())
}

/// Whoever was asked did not mean it.
pub(crate) fn not_meant() -> Fault {
    Fault::own(
        "NOT_MEANT",
        Exit::No,
        "Nothing was recorded.",
        "Say it again as it was; --yes asks nothing.",
    )
}
