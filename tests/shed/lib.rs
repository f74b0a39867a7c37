//! What the invented shop of the tests is made of, in the types of the model: makes, a car, a routine, a job,
//! and the entry that a command becomes.
//!
//! It serves the tests of the model, the simulated years and the bench, which each stock a shop of their own
//! from it. Nothing in it names a real thing.

#![allow(
    clippy::expect_used,
    clippy::missing_panics_doc,
    reason = "what the tests name is written in them"
)]

mod makes;
mod said;
mod work;

use fettlebook_model::{Id, Tag};

pub use makes::{liquid, make, orbital, pad, plate};
pub use said::{entry, loose, receipt};
pub use work::{car, job, routine, step};

/// An id.
#[must_use]
pub fn id(text: &str) -> Id {
    text.parse().expect("an id")
}

/// A tag, of letters and a number.
#[must_use]
pub fn tag(letters: &str, number: usize) -> Tag {
    let number = u32::try_from(number).ok();
    number
        .and_then(|number| Tag::new(letters, number))
        .expect("a tag")
}
