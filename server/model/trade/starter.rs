//! Starter kits: what a shop commonly begins with, as generic makes and two routines.
//!
//! It serves whoever has an empty book and things on a shelf. Every figure is a beginning that a person
//! corrects from label, marking and data sheet; nothing here is any maker's. What protects people and
//! paint is left open where only the thing itself can say it: a plate's rated speed, a machine's
//! vibration and noise, the codes of an abrasive's data sheet.

mod makes;
mod routines;

use crate::ground::word::word_enum;
use crate::trade::job::Routine;
use crate::trade::make::Make;
use crate::trade::policy::{Basis, Policy};

use fettlebook_quantity::{Mass, Volume};

word_enum! {
    /// A kit to begin with, by its machines.
    StarterKit is "a starter kit" {
        /// One big orbital; what it does not reach is done by hand.
        Big = "big",
        /// A big orbital and a small one for tight panels.
        BigSmall = "big-small",
        /// A big and a small orbital, and a spindle tool with pencil pads for edges.
        BigSmallPencil = "big-small-pencil",
    }
}

impl StarterKit {
    /// What it is, as said.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Big => "one big orbital",
            Self::BigSmall => "big and small orbital",
            Self::BigSmallPencil => "big, small and pencil",
        }
    }

    /// How it splits a car's panels, a sentence.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::Big => {
                "The big machine works all but pillars and mirrors, which are done by hand."
            }
            Self::BigSmall => {
                "The big machine works the large panels, the small one bumpers, sills, pillars and \
                 mirrors."
            }
            Self::BigSmallPencil => {
                "The big machine works the large panels, the small one bumpers and sills, pencil pads \
                 pillars and mirrors."
            }
        }
    }

    /// Its makes, in the order in which a person is asked how many there are.
    #[must_use]
    pub fn makes(self) -> Vec<StarterMake> {
        makes::of(self)
    }

    /// Its routines.
    #[must_use]
    pub fn routines(self) -> Vec<Routine> {
        routines::of(self)
    }
}

/// A make of a starter kit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StarterMake {
    /// The make; ratings are left to the policy.
    pub make: Make,
    /// Pieces of it that such a kit usually has; of towels, how many are in its one bundle. Basis: common
    /// practice, no source.
    pub usual_count: i64,
    /// Where its figures come from, by their names in its sort. Those that are from the policy are not
    /// among them.
    pub bases: Vec<(&'static str, Basis)>,
}

impl StarterMake {
    /// The make as it would be set up under this policy.
    #[must_use]
    pub fn under(&self, policy: &Policy) -> Make {
        self.make.clone().filled(policy)
    }
}

/// What an empty bottle with its cap weighs where nobody weighed one: 20 g and 70 g for each litre it
/// holds, so 55 g at 500 mL and 90 g at 1 L. Basis: from memory, a third more or less; a weighing of a full
/// or an empty one takes its place.
#[must_use]
pub(crate) const fn usual_tare(bottle: Volume) -> Mass {
    const CAP_MG: i64 = 20_000;
    const MG_PER_ML: i64 = 70;
    let wall = bottle.ul().saturating_mul(MG_PER_ML).div_euclid(1_000);
    Mass::from_mg(CAP_MG.saturating_add(wall))
}

#[cfg(test)]
mod tests;
