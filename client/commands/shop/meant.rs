//! Whether it is meant that somebody takes rights from the very device they sit at: it cannot give
//! them back to itself, and the last owner may not go at all.

use std::path::Path;

use fettlebook_contract::v1::{Device, ListDevicesRequest, Role};

use crate::ask::{is_it_so, somebody_is_there};
use crate::call;
use crate::connect::{Session, Whereabouts};
use crate::fault::Fault;
use crate::render::{Printer, shop as words};
use crate::shop::folder::{self, Paired};
use crate::shop::role_word;
use crate::shop::wire::Wire;

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

/// Sees that a device which gives up what it holds of a shop does not take its only owner with it. Where
/// the shop cannot be asked nothing is known; the machine with the book can always open its shop again.
///
/// # Errors
/// When it would.
pub(crate) async fn leaves_an_owner(folder: &Path) -> Result<(), Fault> {
    let Ok(paired) = folder::read(folder) else {
        return Ok(());
    };
    if paired.role != role_word(Role::Own) || paired.book.is_some() {
        return Ok(());
    }
    let Some(wire) = reached(&paired).await else {
        return Ok(());
    };
    let asked = call::once(wire, ListDevicesRequest::default()).await;
    let Ok(listed) = asked else {
        return Ok(());
    };
    let owns = |device: &&Device| device.role() == Role::Own && device.revoked_time.is_none();
    let mut owners = listed.devices.iter().filter(owns);
    if owners.any(|device| device.name != paired.device) {
        return Ok(());
    }
    Err(words::last_owner(&paired.device))
}

/// The connection to a shop, where it answers.
async fn reached(paired: &Paired) -> Option<Wire> {
    Wire::open(&paired.target()?, Some(&paired.token))
        .await
        .ok()
}

/// That nothing was done because it was not said to be meant.
fn unsaid(what: String) -> Fault {
    let mut fault = Fault::usage("--this-device", what);
    fault.todo = "Nothing was changed. If it is meant, say --this-device too.".to_owned();
    fault
}
