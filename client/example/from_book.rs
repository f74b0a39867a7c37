//! Names of a book that stand in an example: the first there is of a sort.

use fettlebook_contract::v1::make::Figures;
use fettlebook_contract::v1::{
    DeedKind, JobState, ListCarsRequest, ListEntriesRequest, ListJobsRequest, ListMakesRequest,
    ListOrdersRequest, ListPiecesRequest, ListRoutinesRequest, ListSuppliersRequest, Make, Piece,
    Readiness, piece::State,
};

use crate::connect::Session;
use crate::mistyped::Sort;

/// Rows looked at for a name.
const ROWS: i32 = 200;

/// The name of something of a sort that is in the book.
pub(super) async fn from_book(session: &Session, sort: Sort) -> Option<String> {
    let page_size = ROWS;
    match sort {
        Sort::Pad | Sort::Bundle | Sort::Bottle | Sort::Battery | Sort::Sundry | Sort::Piece => {
            piece(session, sort).await
        }
        Sort::Make | Sort::MachineMake | Sort::PadMake | Sort::LiquidMake => {
            make(session, sort).await
        }
        Sort::Car => car(session).await,
        Sort::Routine => {
            let asked = ListRoutinesRequest {
                page_size,
                ..ListRoutinesRequest::default()
            };
            Some(
                session
                    .once(asked)
                    .await
                    .ok()?
                    .routines
                    .first()?
                    .routine
                    .clone(),
            )
        }
        Sort::Job => {
            // On a van one of its own, where it has any.
            for place in [session.van(), Some(String::new())].into_iter().flatten() {
                let asked = ListJobsRequest {
                    page_size,
                    place,
                    ..ListJobsRequest::default()
                };
                let jobs = session.once(asked).await.ok()?.jobs;
                let booked = jobs.iter().find(|job| job.state() == JobState::Booked);
                if let Some(job) = booked.or_else(|| jobs.first()) {
                    return Some(job.job.clone());
                }
            }
            None
        }
        Sort::Supplier => {
            let asked = ListSuppliersRequest {
                page_size,
                ..ListSuppliersRequest::default()
            };
            Some(
                session
                    .once(asked)
                    .await
                    .ok()?
                    .suppliers
                    .first()?
                    .supplier
                    .clone(),
            )
        }
        Sort::Order => {
            let asked = ListOrdersRequest {
                page_size,
                ..ListOrdersRequest::default()
            };
            Some(
                session
                    .once(asked)
                    .await
                    .ok()?
                    .orders
                    .first()?
                    .order
                    .clone(),
            )
        }
        Sort::Entry => {
            let asked = ListEntriesRequest {
                page_size,
                newest_first: true,
                ..ListEntriesRequest::default()
            };
            let entries = session.once(asked).await.ok()?.entries;
            let standing = entries.iter().find(|entry| {
                let takes_back = entry
                    .deeds
                    .iter()
                    .any(|deed| deed.kind() == DeedKind::Reversed);
                entry.reversed_by_seq.is_none() && !takes_back
            });
            Some(standing?.seq.to_string())
        }
    }
}

/// The first car.
async fn car(session: &Session) -> Option<String> {
    let asked = ListCarsRequest {
        page_size: ROWS,
        ..ListCarsRequest::default()
    };
    Some(session.once(asked).await.ok()?.cars.first()?.car.clone())
}

/// The tag of a piece of a sort, a soiled one where there is one.
async fn piece(session: &Session, sort: Sort) -> Option<String> {
    let asked = ListPiecesRequest {
        page_size: ROWS,
        ..ListPiecesRequest::default()
    };
    let kit = session.once(asked).await.ok()?.pieces;
    let is_it = |piece: &&Piece| {
        matches!(
            (&piece.state, sort),
            (Some(State::Pad(_)), Sort::Pad)
                | (Some(State::Bundle(_)), Sort::Bundle)
                | (Some(State::Bottle(_)), Sort::Bottle)
                | (Some(State::Battery(_)), Sort::Battery)
                | (Some(State::Sundry(_)), Sort::Sundry)
                | (_, Sort::Piece)
        )
    };
    let soiled = |piece: &&Piece| piece.readiness() == Readiness::Soiled;
    let first = kit.iter().filter(is_it).find(soiled);
    first
        .or_else(|| kit.iter().find(is_it))
        .map(|piece| piece.tag.clone())
}

/// The id of a make of a sort.
async fn make(session: &Session, sort: Sort) -> Option<String> {
    let asked = ListMakesRequest {
        page_size: ROWS,
        ..ListMakesRequest::default()
    };
    let makes = session.once(asked).await.ok()?.makes;
    let is_it = |make: &&Make| {
        matches!(
            (&make.figures, sort),
            (Some(Figures::Machine(_)), Sort::MachineMake)
                | (Some(Figures::Pad(_)), Sort::PadMake)
                | (Some(Figures::Liquid(_)), Sort::LiquidMake)
                | (_, Sort::Make)
        )
    };
    makes.iter().find(is_it).map(|make| make.make.clone())
}
