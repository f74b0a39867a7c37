//! What the wear report says in sentences.
//!
//! Serves the person who reads it. A sentence says on how many retirements it rests.

use fettlebook_quantity::round_to_i64;

use super::LifeRange;
use crate::Book;
use crate::ready::lives::{MakeLife, ShapeBasis};
use crate::trade::make::PadFigures;
use crate::trade::policy::PolicyKey;

/// Retirements below which a figure is called thin.
const THIN_BELOW: i64 = 5;

/// The sentence a person needs: how long against the rating, how many jobs, from how much.
pub(super) fn summary(
    name: &str,
    life: &MakeLife,
    new: LifeRange,
    jobs: LifeRange,
    newer_last_shorter: bool,
) -> String {
    let mut said = lasts(name, life, new, jobs);
    if newer_last_shorter {
        said.push_str(
            " Newer pads last shorter: the 15 put to work last wore out sooner than those before them.",
        );
    }
    said
}

fn lasts(name: &str, life: &MakeLife, new: LifeRange, jobs: LifeRange) -> String {
    let told = jobs_told(jobs.typical);
    match life.counts.failure_count {
        0 if life.is_prior_own => {
            format!("No {name} has worn out here yet: by the lives you gave, {told} a pad.")
        }
        0 => format!("No {name} has worn out here yet: by its rating, {told} a pad."),
        count => format!(
            "{name} lasts {} of its rating here: {told} a pad, from {}.",
            share(new.typical),
            retirements(count)
        ),
    }
}

/// What to keep in mind about the figures.
pub(super) fn caveats(book: &Book, figures: &PadFigures, life: &MakeLife) -> Vec<String> {
    let counts = life.counts;
    let mut said = Vec::new();
    if (1..THIN_BELOW).contains(&counts.failure_count) {
        let told = match counts.failure_count {
            1 => "1 retirement is".to_owned(),
            count => format!("{count} retirements are"),
        };
        said.push(format!(
            "{told} little to go by; the range is wide for that reason."
        ));
    }
    match counts.precaution_count {
        0 => {}
        1 => said.push(
            "1 of them was a precaution and counts as worn out then, which errs towards caution."
                .to_owned(),
        ),
        count => said.push(format!(
            "{count} of them were a precaution and count as worn out then, which errs towards caution."
        )),
    }
    match &life.shape_basis {
        ShapeBasis::Policy => said.push(format!(
            "The shape of the curve is a policy until {} have worn out here.",
            book.policy().value(PolicyKey::ShapeFromFailures)
        )),
        ShapeBasis::Refused(why) => said.push(format!(
            "The shape of the curve is a policy, for none can be fitted: {why}."
        )),
        ShapeBasis::Fitted(_) => {}
    }
    if life.lives.is_faded() {
        said.push(
            "What is believed lets older lives count less, by the pads put to work after them; the curve \
             of what was seen counts all alike."
                .to_owned(),
        );
    }
    if let Some(why) = &life.own_refused {
        said.push(format!(
            "The lives you gave are left out, and the rating stands: {why}."
        ));
    }
    if figures.rated_wash_count.is_none_or(|washes| washes <= 0) {
        said.push("Washes are not counted: the make has no rated washes.".to_owned());
    }
    said.push("Look at face and edge all the same: a figure does not see a tear.".to_owned());
    said
}

fn retirements(count: i64) -> String {
    if count == 1 {
        "1 retirement".to_owned()
    } else {
        format!("{count} retirements")
    }
}

fn jobs_told(jobs: f64) -> String {
    match round_to_i64(jobs) {
        ..=0 => "less than a job".to_owned(),
        1 => "about 1 job".to_owned(),
        count => format!("about {count} jobs"),
    }
}

/// A ratio to one decimal, or two where that would be nothing.
fn share(ratio: f64) -> String {
    if ratio < 0.095 {
        format!("{ratio:.2}")
    } else {
        format!("{ratio:.1}")
    }
}
