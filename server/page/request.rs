//! The ids by which the service knows a deed that is sent twice.

use sha2::{Digest as _, Sha256};
use uuid::{Builder, Uuid};

/// What stands for a deed about all that a count did not find.
pub(crate) const MISSING: &str = "missing";
/// What stands for a deed about all that a count found beside what the book says.
pub(crate) const FOUND: &str = "found";

/// An id for the deeds that a form will tell, however often it is sent.
pub(crate) fn fresh() -> String {
    Uuid::now_v7().to_string()
}

/// The id of one deed of several that a form tells: the same whenever that form is sent. A form without an id
/// has none for its parts either.
pub(crate) fn of_part(form: &str, part: &str) -> String {
    if form.is_empty() {
        return String::new();
    }
    let mut sum = Sha256::new();
    for text in [form, "/", part] {
        sum.update(text);
    }
    let sum: [u8; 32] = sum.finalize().into();
    let bytes = sum.first_chunk().copied().unwrap_or_default();
    Builder::from_custom_bytes(bytes).into_uuid().to_string()
}

/// Whether an entry about something was told by a form, whole or as a part.
pub(crate) fn is_of(form: &str, subject: &str, entry: &str) -> bool {
    entry == form
        || [subject, MISSING, FOUND]
            .iter()
            .any(|part| entry == of_part(form, part))
}
