//! What is told where there is no book for a request.
//!
//! It serves the table of errors next to it. A new reason does not compile until it has its place here.

use fettlebook_contract::v1::ErrorReason;

use super::{Told, access};
use crate::edge::no_book::NoBook;
use crate::limits::{RETRY_AFTER_MAX, RETRY_AFTER_MIN};

/// The reason of each.
pub(super) fn told(none: &NoBook) -> Told {
    let reason = match none {
        NoBook::TokenMissing | NoBook::Unnamed(_) => ErrorReason::TokenMissing,
        NoBook::Other | NoBook::Moved => ErrorReason::TokenOtherBook,
        // As the book itself would say it.
        NoBook::NotLetIn(refused) => return access::told(refused),
        NoBook::Slow | NoBook::NoRoom | NoBook::TooMuch => ErrorReason::Busy,
        NoBook::Unknown => ErrorReason::HeldElsewhere,
    };
    let told = Told::new(reason, "", none.to_string(), none.todo());
    match none {
        NoBook::Slow | NoBook::NoRoom => told.retry_after(RETRY_AFTER_MAX),
        NoBook::TooMuch | NoBook::Unknown => told.retry_after(RETRY_AFTER_MIN),
        _ => told,
    }
}
