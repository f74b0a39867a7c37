//! Whether it is meant that somebody takes rights from the very device they sit at: it cannot give
//! them back to itself.

use crate::ask::{is_it_so, somebody_is_there};
use crate::connect::{Session, Whereabouts};
use crate::fault::Fault;
use crate::render::Printer;
use crate::shop::folder;

/// Lets whoever changes their own device think again: on a terminal they are asked, else they have to
/// have `said` so.
pub(crate) fn meant(
    session: &Session,
    name: &str,
    comes: &str,
    said: bool,
    printer: &Printer,
) -> Result<(), Fault> {
    let Whereabouts::Shop { folder, .. } = session.whereabouts() else {
        return Ok(());
    };
    let own = folder::read(folder).is_ok_and(|paired| paired.device == name);
    if !own || said {
        return Ok(());
    }
    let what = format!("{name} is this very device: it {comes}.");
    if !somebody_is_there(printer) {
        return Err(unsaid(what));
    }
    if is_it_so(&format!("{what} Go on?"))? {
        Ok(())
    } else {
        Err(unsaid(what))
    }
}

/// That nothing was done because it was not said to be meant.
fn unsaid(what: String) -> Fault {
    let mut fault = Fault::usage("--this-device", what);
    fault.todo = "Nothing was changed. If it is meant, say --this-device too.".to_owned();
    fault
}
