//! A pick as facts: which pieces go to a job, as a person was shown them.
//!
//! A pick is worked out from the book as it stands; what was shown of it is a fact, and stays what it
//! was whatever the book says by then. A pick that was taken is a job's: it is kept for it until the job
//! is logged or the pick is given back.

use serde::{Deserialize, Serialize};

use crate::Moment;
use crate::ground::ids::{Id, Tag};
use crate::trade::kept::Told;

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

/// What was taken for a job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Take {
    /// The pieces.
    pub picked: Vec<Picked>,
    /// What the check stopped and a person passed; none where nothing had to be passed.
    pub despite: Option<Despite>,
    /// The entry, and who reported it.
    pub told: Told,
    /// When it was taken.
    pub at: Moment,
}

/// What the check stopped and was passed, and why.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Despite {
    /// Why, in the words of whoever took it.
    pub why: String,
    /// The lines of the check that said stop, a sentence each.
    pub passed: Vec<String>,
}

impl Despite {
    /// As it is said of a job, in entries and checks.
    pub(crate) fn sentence(&self, job: &Id) -> String {
        let Self { why, passed } = self;
        let passed = if passed.is_empty() {
            String::new()
        } else {
            format!(" Passed: {}", passed.join(" "))
        };
        let why = why.trim_end_matches('.');
        format!("{job} was taken despite a stop of the check: {why}.{passed}")
    }
}
