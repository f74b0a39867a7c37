//! What is behind a router, asked through it: a book that is known, one that comes, and none.

use std::sync::Arc;
use std::sync::Mutex;

use http_body_util::Full;
use tonic::body::Body;
use tonic::codegen::Bytes;
use tonic::codegen::http::Request;
use tonic::service::Routes;
use tonic::{Code, Status};
use tonic_types::StatusExt as _;
use tower::{Layer as _, ServiceExt as _};
use uuid::Uuid;

use super::{Asker, Books, Router, Way};
use crate::access::{SECRET_BYTES, Token};
use crate::edge::{NoBook, Switch};

const LIST: &str = "/fettlebook.v1.KitService/ListPieces";
const HEALTH: &str = "/grpc.health.v1.Health/Check";

const KNOWN: Uuid = Uuid::from_u128(1);
const COMES: Uuid = Uuid::from_u128(2);
const GONE: Uuid = Uuid::from_u128(3);

/// Three books, and what was asked for.
#[derive(Default)]
struct Shelf(Mutex<Vec<Option<Uuid>>>);

/// A book that is elsewhere: where that is tells which switch was gone by.
fn at(name: &str) -> Switch {
    let switch = Switch::default();
    switch.to_elsewhere(Some(name.into()));
    switch
}

impl Books for Shelf {
    fn way_to(&self, asker: Asker<'_>) -> Way {
        self.0.lock().unwrap().push(asker.book);
        match asker.book {
            Some(KNOWN) => Way::There(at("known.example:7420")),
            Some(COMES) => Way::Coming(Box::pin(async { Ok(at("comes.example:7420")) })),
            Some(_) => Way::Coming(Box::pin(async { Err(NoBook::Moved) })),
            None => Way::Nowhere(NoBook::Unnamed(vec![KNOWN, COMES])),
        }
    }
}

/// What is answered to whoever shows this header, and the books that were asked for.
async fn asked(
    path: &str,
    token: Option<String>,
    for_devices: bool,
) -> (Option<Status>, Vec<Option<Uuid>>) {
    let books = Arc::new(Shelf::default());
    let router = Router::to(Arc::clone(&books) as Arc<dyn Books>, for_devices);
    let request = Request::post(path).header("content-type", "application/grpc");
    let request = match token {
        Some(token) => request.header("authorization", token),
        None => request,
    };
    // One empty message. Source: gRPC over HTTP/2, "Length-Prefixed-Message".
    let request = request.body(Body::new(Full::new(Bytes::from_static(&[0; 5]))));
    let services = router.layer(Routes::default());
    let answer = services.oneshot(request.unwrap()).await.unwrap();
    let named = books.0.lock().unwrap().clone();
    (Status::from_header_map(answer.headers()), named)
}

fn bearer(book_id: Uuid) -> Option<String> {
    let token = Token {
        book_id,
        device_id: Uuid::from_u128(9),
        secret: [7; SECRET_BYTES],
    };
    Some(format!("Bearer {token}"))
}

#[tokio::test]
async fn a_request_goes_to_the_book_that_its_token_names() {
    for (book, place) in [(KNOWN, "known.example:7420"), (COMES, "comes.example:7420")] {
        let (status, named) = asked(LIST, bearer(book), true).await;
        let info = status.unwrap().get_details_error_info().unwrap();
        let held_at = info.metadata.get("held_at").map(String::as_str);
        assert_eq!((held_at, named), (Some(place), vec![Some(book)]));
    }
}

#[tokio::test]
async fn where_there_is_no_book_it_is_said_why() {
    let (status, _) = asked(LIST, bearer(GONE), true).await;
    let status = status.unwrap();
    assert_eq!(status.code(), Code::Unauthenticated);
    assert!(
        status
            .message()
            .contains("it was moved. Ask whoever looks after it"),
        "{status}"
    );
    let (status, named) = asked(LIST, None, false).await;
    let told = status.unwrap();
    let ids =
        format!("2 books are served here, and the request does not say which: {KNOWN}, {COMES}. ");
    assert!(told.message().starts_with(&ids), "{told}");
    assert!(told.message().contains("--book-id ID"), "{told}");
    assert_eq!(named, [None]);
}

#[tokio::test]
async fn what_names_no_book_is_asked_for_as_none() {
    let short = bearer(KNOWN).unwrap().replacen("00", "", 1);
    for header in [
        None,
        Some("Bearer".to_owned()),
        Some("Basic 00.11".to_owned()),
        Some(short),
    ] {
        let (_, named) = asked(LIST, header.clone(), true).await;
        assert_eq!(named, [None], "{header:?}");
    }
}

#[tokio::test]
async fn health_is_no_books() {
    for for_devices in [true, false] {
        let (status, named) = asked(HEALTH, bearer(GONE), for_devices).await;
        // Behind this router there is no service of health.
        assert_eq!(status.unwrap().code(), Code::Unimplemented);
        assert_eq!(named, []);
    }
}
