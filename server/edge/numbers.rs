//! Numbers that cannot be true are refused before anything is made of a request, all of them at once.

use fettlebook_contract::numbers::{At, Beyond, Bounds, Numbers};
use fettlebook_contract::v1::ErrorReason;
use fettlebook_quantity::out_of_bounds;

use super::status::{EdgeError, Fault};

/// Refuses a message with numbers outside the contract's bounds. `at` is its place in the request.
pub(super) fn hold(message: &impl Numbers, at: At<'_>) -> Result<(), EdgeError> {
    let mut found = Vec::new();
    message.beyond(at, &mut found);
    let faults = found.into_iter().map(fault).collect();
    EdgeError::of(faults).map_or(Ok(()), Err)
}

/// A number that cannot be true, by the words for its field.
pub(super) fn fault(beyond: Beyond) -> Fault {
    let Bounds { least, most, unit } = beyond.bounds;
    Fault {
        reason: ErrorReason::QuantityInvalid,
        what: out_of_bounds(&beyond.field, beyond.number, least, most, unit),
        field: beyond.field,
        name: String::new(),
        todo: "Look at the figure and its unit.".to_owned(),
    }
}
