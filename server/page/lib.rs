//! The page at the bench: the book on a telephone, as HTML that the service makes.
//!
//! It is a client of the contract like any other. Every view and every deed is a call that passes the
//! service's guard with the token of the device which asks, so that a telephone may do what its role allows
//! and nothing else; the page itself knows no rule of the trade and holds nothing between two requests. It
//! works without script, loads nothing from elsewhere, and a deed that is sent twice counts once.

mod asker;
mod changed;
mod files;
mod form;
mod limits;
mod pairing;
mod refusal;
mod request;
mod session;
mod shield;
mod templates;
mod views;
mod words;

use std::convert::Infallible;
use std::sync::Arc;

use axum::Router;
use axum::middleware::from_fn;
use axum::routing::{get, post};
use tokio::sync::Semaphore;
use tonic::body::Body;
use tonic::codegen::http::{Request, Response};
use tower::util::BoxCloneSyncService;

/// A service in this process that answers HTTP requests.
pub type Service = BoxCloneSyncService<Request<Body>, Response<Body>, Infallible>;

/// What every view goes by.
#[derive(Clone)]
struct Shop {
    /// The services of the contract, behind their guard.
    contract: Service,
    /// The certificate that devices hold on to, as it is now.
    certificate: Arc<dyn Fn() -> Vec<u8> + Send + Sync>,
    /// Keys that are made of typed codes at a time.
    keys: Arc<Semaphore>,
}

/// The page, on the services of the contract behind their guard, for a service that devices know by what this
/// gives: a certificate, which may be another later.
#[must_use]
pub fn page(
    contract: Service,
    certificate: impl Fn() -> Vec<u8> + Send + Sync + 'static,
) -> Service {
    let shop = Shop {
        contract,
        certificate: Arc::new(certificate),
        keys: Arc::new(Semaphore::new(limits::KEYS_AT_ONCE_MAX)),
    };
    let routes = Router::new()
        .route("/", get(views::today::show))
        .route("/kit", get(views::kit::show))
        .route("/t", get(views::piece::sought))
        .route("/t/{tag}", get(views::piece::show))
        .route("/wash", get(views::wash::show).post(views::wash::record))
        .route("/weigh", get(views::weigh::show).post(views::weigh::record))
        .route("/check", get(views::check::next))
        .route("/check/{job}", get(views::check::show))
        .route("/take", get(views::take::list).post(views::take::record))
        .route("/take/{job}", get(views::take::show))
        .route("/give-back", post(views::take::give_back))
        .route("/log", get(views::log::list))
        .route("/log/{job}", get(views::log::show).post(views::log::record))
        .route("/count", get(views::count::show).post(views::count::record))
        .route(
            "/reorder",
            get(views::reorder::show).post(views::reorder::record),
        )
        .route(
            "/order/{order}",
            get(views::order::show).post(views::order::record),
        )
        .route("/entries", get(views::entries::show))
        .route("/entries/watch", get(views::entries::watch))
        .route("/entry/{seq}", get(views::entry::show))
        .route("/recorded", get(views::entry::recorded))
        .route("/undo", post(views::entry::undo))
        .route("/pair", get(pairing::show).post(pairing::pair))
        .merge(files::routes())
        .fallback(refusal::no_such_page)
        .method_not_allowed_fallback(refusal::wrong_method)
        .layer(from_fn(shield::shield))
        .with_state(shop);
    // An axum router takes bodies of any kind: here it is those of the service.
    let page = tower::ServiceExt::<Request<Body>>::map_response(routes, answered);
    BoxCloneSyncService::new(page)
}

/// An answer with its body as the service sends bodies.
fn answered(answer: Response<axum::body::Body>) -> Response<Body> {
    answer.map(Body::new)
}
