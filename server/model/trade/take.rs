//! A pick as facts: which pieces go to a job, as a person was shown them.
//!
//! A pick is worked out from the book as it stands; what was shown of it is a fact, and stays what it
//! was whatever the book says by then.

use serde::{Deserialize, Serialize};

use crate::ground::ids::{Id, Tag};

/// One piece of a pick as it was shown.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Picked {
    /// The piece.
    pub tag: Tag,
    /// Step it is for; none for the whole job.
    pub step: Option<Id>,
    /// How much of it: 1 of what is whole, µL of a bottle, towels of a bundle, a sundry in its unit.
    pub quantity: i64,
    /// Goes along and is not planned to work.
    pub spare: bool,
}

impl Picked {
    /// A whole piece that works in a step.
    pub(crate) fn whole(tag: Tag, step: &Id) -> Self {
        Self::of(tag, Some(step), 1)
    }

    /// So much of a piece, for a step or for the whole job.
    pub(crate) fn of(tag: Tag, step: Option<&Id>, quantity: i64) -> Self {
        Self {
            tag,
            step: step.cloned(),
            quantity,
            spare: false,
        }
    }

    /// A pad that goes along to a step as a spare.
    pub(crate) fn spare(tag: Tag, step: &Id) -> Self {
        Self {
            spare: true,
            ..Self::whole(tag, step)
        }
    }
}
