//! The names in a book, each with a word that helps to know it: what completion offers and what a
//! mistyped name is held against.
//!
//! One page is enough for either; a book with more names goes without the rest.

use fettlebook_contract::v1::{
    GetBookRequest, ListCarsRequest, ListJobsRequest, ListMakesRequest, ListOrdersRequest,
    ListPiecesRequest, ListRoutinesRequest, ListSuppliersRequest,
};
use tonic::Status;

use crate::connect::Session;

/// Names asked for at most.
const NAMES: i32 = 1_000;

/// What is named.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Names {
    /// Tags of the kit.
    Tags,
    /// Makes.
    Makes,
    /// Cars.
    Cars,
    /// Routines.
    Routines,
    /// Jobs.
    Jobs,
    /// Places where kit is.
    Places,
    /// Suppliers.
    Suppliers,
    /// Orders.
    Orders,
}

/// The names, each with its word. `past` takes binned pieces and closed orders in.
///
/// # Errors
/// What the service refused, or what broke.
pub(crate) async fn named(
    session: &Session,
    names: Names,
    past: bool,
) -> Result<Vec<(String, String)>, Status> {
    let page_size = NAMES;
    let found = match names {
        Names::Tags => {
            let asked = ListPiecesRequest {
                page_size,
                show_binned: past,
                ..ListPiecesRequest::default()
            };
            let pieces = session.once(asked).await?.pieces.into_iter();
            pieces.map(|one| (one.tag, one.make_name)).collect()
        }
        Names::Makes => {
            let asked = ListMakesRequest {
                page_size,
                ..ListMakesRequest::default()
            };
            let makes = session.once(asked).await?.makes.into_iter();
            makes.map(|one| (one.make, one.name)).collect()
        }
        Names::Cars => {
            let asked = ListCarsRequest {
                page_size,
                ..ListCarsRequest::default()
            };
            let cars = session.once(asked).await?.cars.into_iter();
            cars.map(|one| (one.car, one.note)).collect()
        }
        Names::Routines => {
            let asked = ListRoutinesRequest {
                page_size,
                ..ListRoutinesRequest::default()
            };
            let routines = session.once(asked).await?.routines.into_iter();
            routines.map(|one| (one.routine, one.name)).collect()
        }
        Names::Jobs => {
            let asked = ListJobsRequest {
                page_size,
                ..ListJobsRequest::default()
            };
            let jobs = session.once(asked).await?.jobs.into_iter();
            jobs.map(|one| (one.job, one.car)).collect()
        }
        Names::Suppliers => {
            let asked = ListSuppliersRequest {
                page_size,
                ..ListSuppliersRequest::default()
            };
            let suppliers = session.once(asked).await?.suppliers.into_iter();
            suppliers.map(|one| (one.supplier, one.name)).collect()
        }
        Names::Orders => {
            let asked = ListOrdersRequest {
                page_size,
                show_closed: past,
                ..ListOrdersRequest::default()
            };
            let orders = session.once(asked).await?.orders.into_iter();
            orders.map(|one| (one.order, one.supplier)).collect()
        }
        Names::Places => {
            let places = session
                .once(GetBookRequest::default())
                .await?
                .places
                .into_iter();
            places.map(|one| (one, String::new())).collect()
        }
    };
    Ok(found)
}
