//! Names that were perhaps meant, for one that the book does not know.
//!
//! The refusal carries the name by itself. Any trouble on the way means no suggestion, never another
//! error.

use fettlebook_contract::v1::{ErrorReason, GetJobRequest, JobState};

use crate::connect::Session;
use crate::fault::Fault;
use crate::names::{Names, named};

/// Suggestions made.
const SUGGESTIONS: usize = 3;
/// Names that differ more are not taken for a slip of the finger.
const ALIKE_MIN: f64 = 0.8;

/// The fault with what was perhaps meant, where something is near to one of the names asked for.
pub(crate) async fn with_suggestions(session: &Session, mut fault: Fault) -> Fault {
    let unknown = fault.contract_reason().and_then(unknown);
    let Some(names) = unknown.filter(|_| !fault.hints.name.is_empty()) else {
        return fault;
    };
    let Ok(names) = named(session, names, true).await else {
        return fault;
    };
    let names = names.into_iter().map(|(name, _)| name).collect();
    let near = nearest(&fault.hints.name, names);
    if let Some(first) = near.first() {
        fault.hints.meant = meant(session, unknown, first).await;
        fault.todo = format!("Perhaps {}? {}", near.join(" or "), fault.todo);
    } else if let Some((noun, article)) = elsewhere(session, &fault.hints.name).await {
        let name = &fault.hints.name;
        fault.todo = format!("{name} is {article} {noun}. {}", fault.todo);
        fault.hints.example = format!("fettle {noun} show {name}");
    }
    fault
}

/// What a name is where it is nothing of the sort that was asked for: the noun and its article.
async fn elsewhere(session: &Session, name: &str) -> Option<(&'static str, &'static str)> {
    let nouns = [
        (Names::Cars, "car"),
        (Names::Jobs, "job"),
        (Names::Makes, "make"),
        (Names::Routines, "routine"),
        (Names::Suppliers, "supplier"),
        (Names::Orders, "order"),
    ];
    for (names, noun) in nouns {
        let found = named(session, names, true).await.ok()?;
        if found.iter().any(|(one, _)| one == name) {
            let article = if noun == "order" { "an" } else { "a" };
            return Some((noun, article));
        }
    }
    None
}

/// The name that was perhaps meant, where a command can do something with it: of jobs one that is booked.
async fn meant(session: &Session, names: Option<Names>, near: &str) -> String {
    if names != Some(Names::Jobs) {
        return near.to_owned();
    }
    let job = near.to_owned();
    let found = session.once(GetJobRequest { job }).await;
    let job = found.ok().and_then(|answer| answer.job);
    job.filter(|job| job.state() == JobState::Booked)
        .map(|job| job.job)
        .unwrap_or_default()
}

/// What a name of which the book knows nothing was to be.
const fn unknown(reason: ErrorReason) -> Option<Names> {
    Some(match reason {
        ErrorReason::TagUnknown => Names::Tags,
        ErrorReason::MakeUnknown => Names::Makes,
        ErrorReason::CarUnknown => Names::Cars,
        ErrorReason::RoutineUnknown => Names::Routines,
        ErrorReason::JobUnknown => Names::Jobs,
        ErrorReason::SupplierUnknown => Names::Suppliers,
        ErrorReason::OrderUnknown => Names::Orders,
        _ => return None,
    })
}

/// The names most like the one asked for, nearest first.
fn nearest(asked: &str, names: Vec<String>) -> Vec<String> {
    let asked = asked.to_lowercase();
    let mut scored: Vec<(f64, String)> = names
        .into_iter()
        .map(|name| (strsim::jaro_winkler(&asked, &name.to_lowercase()), name))
        .filter(|(alike, _)| *alike >= ALIKE_MIN)
        .collect();
    scored.sort_by(|(left, left_name), (right, right_name)| {
        right
            .total_cmp(left)
            .then_with(|| left_name.cmp(right_name))
    });
    scored
        .into_iter()
        .take(SUGGESTIONS)
        .map(|(_, name)| name)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn a_slip_of_the_finger_is_recognised() {
        let names = |list: &[&str]| list.iter().map(|&name| name.to_owned()).collect();
        let tags: Vec<String> = names(&["P-07", "P-08", "T-01", "B-03"]);
        assert_eq!(nearest("p-07", tags.clone()), ["P-07", "P-08"]);
        assert!(nearest("X-99", tags).is_empty());
        let jobs = names(&["saloon-thursday", "van-friday"]);
        assert_eq!(nearest("saloon-thrusday", jobs), ["saloon-thursday"]);
    }
}
