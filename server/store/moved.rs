//! Where a book went that is kept elsewhere now.
//!
//! Whoever moves a book says so where it was, before it can be opened where it goes: a book is never in two
//! places where entries could be recorded.

use fettlebook_model::Moment;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// Where a book went.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Moved {
    /// The place, for people.
    pub to: String,
    /// The life that it has there.
    pub incarnation_id: Uuid,
    /// When it went.
    pub at: Moment,
    /// Whether it certainly arrived. Where it is not, the move was cut off, and the next one finds out.
    pub arrived: bool,
}

impl Moved {
    /// What became of a book, as the rest of a sentence and what to do.
    pub(super) fn told(&self) -> String {
        let (to, at) = (&self.to, self.at);
        if self.arrived {
            return format!(
                "moved to {to} on {at}, and goes on there: nothing is recorded here any more. Open it there."
            );
        }
        format!(
            "was on its way to {to} on {at}, and nothing here tells whether it arrived. Say the same \
             'fettled move' again, which finds out."
        )
    }
}
