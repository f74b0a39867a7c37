//! What there is to wash, for whoever names nothing.

use fettlebook_contract::v1::GetTodayRequest;

use crate::ask::{is_so, somebody_is_there};
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::{Form, Printer, today};

/// The tags of all that is soiled, once it was shown and said that it was washed; nothing where nothing is
/// soiled.
///
/// # Errors
/// When nobody is there to say so, or it is not so.
pub(super) async fn shown(
    session: &Session,
    printer: &mut Printer,
) -> Result<Option<Vec<String>>, Fault> {
    let mut soiled = session.call(GetTodayRequest::default()).await?.to_wash;
    // What is in a van is washed on the van, and nothing else there.
    if let Some(van) = session.van() {
        soiled.retain(|one| one.place == van);
    }
    if soiled.is_empty() {
        return Ok(None);
    }
    if printer.form() != Form::Json {
        let page = today::soiled(printer.screen(), &soiled);
        printer.page(&page);
    }
    if !somebody_is_there(printer) {
        let mut fault = Fault::usage("TAG", "What was washed was not said.");
        fault.todo = "'fettle wash all' records all that is soiled, 'fettle wash P-01 T-01' these."
            .to_owned();
        return Err(fault);
    }
    printer.flush();
    if !is_so("Washed, all of it?")? {
        return Err(Fault::own(
            "NOT_MEANT",
            Exit::No,
            "Nothing was recorded.",
            "Name what was washed, for example 'fettle wash P-01 T-01'.",
        ));
    }
    let tags = soiled.into_iter().flat_map(|one| one.tags);
    Ok(Some(tags.collect()))
}
