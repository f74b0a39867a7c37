//! Names that were perhaps meant, for one that the book does not know.
//!
//! It serves refusals of an unknown tag or id. It asks for a list only when the book is small, and
//! any trouble on the way means no suggestion, never another error.

use fettlebook_contract::v1::{
    ErrorReason, ListCarsRequest, ListJobsRequest, ListMakesRequest, ListOrdersRequest,
    ListPiecesRequest, ListRoutinesRequest, ListSuppliersRequest,
};

use crate::connect::Session;
use crate::fault::Fault;

/// Names looked at; a book with more gives no suggestion for the rest.
const NAMES_LOOKED_AT: i32 = 1_000;
/// Suggestions made.
const SUGGESTIONS: usize = 3;
/// Names that differ more are not taken for a slip of the finger.
const ALIKE_MIN: f64 = 0.8;

/// The fault with what was perhaps meant, where something is near to one of the names asked for.
pub(crate) async fn with_suggestions(session: &Session, mut fault: Fault) -> Fault {
    let Some(asked) = asked_for(&fault.message) else {
        return fault;
    };
    let Some(reason) = fault.contract_reason() else {
        return fault;
    };
    let Some(names) = names(session, reason).await else {
        return fault;
    };
    let near = nearest(asked, names);
    if !near.is_empty() {
        fault.todo = format!("Perhaps {}? {}", near.join(" or "), fault.todo);
    }
    fault
}

/// The name a refusal is about: the last word of its first sentence.
fn asked_for(message: &str) -> Option<&str> {
    let sentence = message.split_once(". ").map_or(message, |(first, _)| first);
    let name = sentence
        .trim_end_matches('.')
        .rsplit(char::is_whitespace)
        .next()?
        .trim_matches('\'');
    (!name.is_empty()).then_some(name)
}

async fn names(session: &Session, reason: ErrorReason) -> Option<Vec<String>> {
    let page_size = NAMES_LOOKED_AT;
    let names = if reason == ErrorReason::TagUnknown {
        let request = ListPiecesRequest {
            page_size,
            show_binned: true,
            ..ListPiecesRequest::default()
        };
        let answer = session.once(request).await.ok()?;
        answer.pieces.into_iter().map(|piece| piece.tag).collect()
    } else if reason == ErrorReason::MakeUnknown {
        let request = ListMakesRequest {
            page_size,
            ..ListMakesRequest::default()
        };
        let answer = session.once(request).await.ok()?;
        answer.makes.into_iter().map(|make| make.make).collect()
    } else if reason == ErrorReason::CarUnknown {
        let request = ListCarsRequest {
            page_size,
            ..ListCarsRequest::default()
        };
        let answer = session.once(request).await.ok()?;
        answer.cars.into_iter().map(|car| car.car).collect()
    } else if reason == ErrorReason::RoutineUnknown {
        let request = ListRoutinesRequest {
            page_size,
            ..ListRoutinesRequest::default()
        };
        let answer = session.once(request).await.ok()?;
        answer.routines.into_iter().map(|one| one.routine).collect()
    } else if reason == ErrorReason::JobUnknown {
        let request = ListJobsRequest {
            page_size,
            ..ListJobsRequest::default()
        };
        let answer = session.once(request).await.ok()?;
        answer.jobs.into_iter().map(|job| job.job).collect()
    } else if reason == ErrorReason::SupplierUnknown {
        let request = ListSuppliersRequest {
            page_size,
            ..ListSuppliersRequest::default()
        };
        let answer = session.once(request).await;
        let suppliers = answer.ok()?.suppliers;
        suppliers.into_iter().map(|one| one.supplier).collect()
    } else if reason == ErrorReason::OrderUnknown {
        let request = ListOrdersRequest {
            page_size,
            show_closed: true,
            ..ListOrdersRequest::default()
        };
        let answer = session.once(request).await.ok()?;
        answer.orders.into_iter().map(|one| one.order).collect()
    } else {
        return None;
    };
    Some(names)
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
    use super::{asked_for, nearest};

    #[test]
    fn a_slip_of_the_finger_is_recognised() {
        let names = |list: &[&str]| list.iter().map(|&name| name.to_owned()).collect();
        let tags: Vec<String> = names(&["P-07", "P-08", "T-01", "B-03"]);
        assert_eq!(nearest("p-07", tags.clone()), ["P-07", "P-08"]);
        assert!(nearest("X-99", tags).is_empty());
        let jobs = names(&["saloon-thursday", "van-friday"]);
        assert_eq!(nearest("saloon-thrusday", jobs), ["saloon-thursday"]);
    }

    #[test]
    fn the_name_asked_for_ends_the_first_sentence() {
        let asked = |message| asked_for(message);
        assert_eq!(asked("No piece of kit has the tag P-99."), Some("P-99"));
        assert_eq!(
            asked("The book has no car vna. List what there is."),
            Some("vna")
        );
        assert_eq!(asked(""), None);
    }
}
