//! Numbers that cannot be true are refused before anything is made of a request, all of them at once.

use fettlebook_contract::numbers::{At, Numbers};

use super::status::EdgeError;

/// Refuses a message with numbers outside the contract's bounds. `at` is its place in the request.
pub(super) fn hold(message: &impl Numbers, at: At<'_>) -> Result<(), EdgeError> {
    let mut found = Vec::new();
    message.beyond(at, &mut found);
    if found.is_empty() {
        Ok(())
    } else {
        Err(EdgeError::Beyond(found))
    }
}
