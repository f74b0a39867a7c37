//! The cautions to read before a job: of each liquid and sundry by its data sheet, and of the work itself.
//!
//! None is left out because another says something like it; whoever shows them may name the hazards of
//! those that were read before.

use std::collections::BTreeSet;

use crate::Book;
use crate::ground::ids::Id;
use crate::ready::plan::Plan;
use crate::trade::exposure::{EXPOSURE_CAUTION, EXPOSURE_HAZARD};
use crate::trade::film::{FILM_CAUTION, FILM_HAZARD};
use crate::trade::hazard::{CLOTH_CAUTION, CLOTH_HAZARD, cautions};
use crate::trade::job::Routine;
use crate::trade::make::{Figures, Make, Unit};

/// A caution to read before a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JobCaution {
    /// Make it is of; `None` for what goes with the work itself.
    pub make: Option<Id>,
    /// Name of that make; empty without one.
    pub what: String,
    /// The hazard in a few words.
    pub hazard: &'static str,
    /// The caution in full, with what it is of.
    pub text: String,
}

/// Cautions from the data sheets of everything the job uses, each with what it is about.
pub(super) fn of_job(book: &Book, plan: &Plan, routine: &Routine) -> Vec<JobCaution> {
    let mut said = Vec::new();
    let liquids = routine.parts().map(|step| &step.liquid_make);
    let sundries = plan.sundries.iter().map(|(make, _)| make);
    let mut seen = BTreeSet::new();
    let mut cloths = false;
    for make in liquids.chain(sundries).filter_map(|id| book.make(id)) {
        if make.ghs.is_empty() || !seen.insert(&make.id) {
            continue;
        }
        cloths |= match &make.figures {
            Figures::Sundry(sundry) => sundry.unit == Unit::Microlitre,
            _ => true,
        };
        said.extend(of_make(make));
    }
    if cloths {
        said.push(of_work(CLOTH_HAZARD, format!("{CLOTH_CAUTION}.")));
    }
    said.push(of_work(FILM_HAZARD, FILM_CAUTION.to_owned()));
    said.push(of_work(EXPOSURE_HAZARD, EXPOSURE_CAUTION.to_owned()));
    said
}

fn of_make(make: &Make) -> impl Iterator<Item = JobCaution> {
    cautions(&make.ghs).into_iter().map(|caution| JobCaution {
        make: Some(make.id.clone()),
        what: make.name.to_string(),
        hazard: caution.hazard(),
        text: format!("{}: {}.", make.name, caution.sentence()),
    })
}

const fn of_work(hazard: &'static str, text: String) -> JobCaution {
    JobCaution {
        make: None,
        what: String::new(),
        hazard,
        text,
    }
}
