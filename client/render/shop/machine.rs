//! What is told of a shop as a whole: opened on this machine, left, or reached at another address.

use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::screen::{Screen, several};
use crate::render::tint;
use crate::shop::folder::Paired;
use crate::shop::service::Started;

use super::count;

/// A shop that is open on this machine.
pub(crate) fn opened(screen: &Screen, paired: &Paired, started: Option<&Started>) -> String {
    let what = format!(
        "this machine is {} in the shop of its book, with the role {}.",
        paired.device, paired.role
    );
    let mut text = screen.hung(&format!("{}: ", tint::good("open")), "  ", &what);
    text.push('\n');
    let service = match started {
        Some(started) => format!(
            "fettled runs as process {} and listens on {}; its log is {}. It ends with the machine: 'fettle \
             shop open' starts it again.",
            started.process,
            started.listens,
            started.log.display()
        ),
        None => format!("fettled runs already, at {}.", paired.address()),
    };
    text.push_str(&screen.hung("", "", &service));
    text.push('\n');
    text
}

/// A shop that this device has left.
pub(crate) fn left(screen: &Screen, paired: &Paired, waiting: usize) -> String {
    let mut text = format!(
        "{} has left the shop at {}; commands use the book of this device from now on.",
        paired.device,
        paired.address()
    );
    if waiting > 0 {
        let wait = several(count(waiting), "deed that was", "deeds that were");
        text.push_str(&format!(
            " {wait} not sent stay here, and are sent once this device is paired with that shop again."
        ));
    }
    if paired.book.is_none() {
        text.push_str(&format!(
            " Until whoever owns the shop shuts it out ('fettle shop devices --revoke {}') its token stays \
             good.",
            paired.device
        ));
    }
    screen.hung("", "", &text)
}

/// That the shop is looked for elsewhere from now on.
pub(crate) fn has_address(screen: &Screen, paired: &Paired, unreached: Option<&str>) -> String {
    let address = paired.address();
    let text = match unreached {
        None => format!("The shop answers at {address}, and is looked for there from now on."),
        Some(why) => format!(
            "The shop is looked for at {address} from now on. It was not reached there just now: {why}."
        ),
    };
    screen.hung("", "", &text)
}

/// That something else answers at an address.
pub(crate) fn not_the_shop(paired: &Paired, why: &str) -> Fault {
    Fault::own(
        "NOT_THE_SHOP",
        Exit::Conflict,
        format!(
            "At {} the shop does not answer: {why}. Nothing was changed.",
            paired.address()
        ),
        "Give the address of the machine with the book; if that has another certificate now, pair this \
         device again with a new code.",
    )
}

/// That the shop still answers where it did, and not at another address.
pub(crate) fn still_there(held: &Paired, other: &Paired, why: &str) -> Fault {
    Fault::own(
        "NOT_THE_SHOP",
        Exit::Conflict,
        format!(
            "The shop answers at {} as before, and not at {}: {why}. Nothing was changed.",
            held.address(),
            other.address()
        ),
        "See that the new address is right, and that the machine is reached there from here.",
    )
}
