//! What is set up and edited: makes, cars, routines, suppliers, policies.
//!
//! Serves those who describe the shop. A definition is a wish and may be refused; nothing that
//! happened is touched by it.

pub(super) mod cars;
pub(super) mod makes;
pub(super) mod policies;
pub(super) mod routines;
pub(super) mod suppliers;

use crate::Book;
use crate::ground::ids::{Id, Subject};
use crate::ground::refusal::{Reason, Refusal};

/// Longest name or car note, in characters.
const NAME_CHARS_MAX: usize = 80;

/// An id that is not and never was in use.
pub(super) fn free(
    book: &Book,
    sort: &str,
    id: &Id,
    subject: fn(Id) -> Subject,
) -> Result<(), Refusal> {
    not_there(book.is_taken(&subject(id.clone())), sort, id)
}

/// An id of a definition on which nothing rests but what stands in the book: one that was taken back is
/// free again, since nothing had used it.
pub(super) fn not_there(is_there: bool, sort: &str, id: &Id) -> Result<(), Refusal> {
    if is_there {
        return Err(Refusal::id_taken(&format!("{sort}.{sort}"), sort, id));
    }
    Ok(())
}

/// What is edited is still what the person saw.
pub(super) fn unchanged(same: bool, sort: &str) -> Result<(), Refusal> {
    if same {
        return Ok(());
    }
    Err(Refusal::new(
        Reason::ChangedMeanwhile,
        sort,
        format!("The {sort} was changed by somebody else meanwhile."),
        "Look at it again, then edit it.",
    ))
}
