//! What is behind a switch, asked through it: the book here, elsewhere, and here without anybody knowing.

use std::sync::Arc;
use std::time::{Duration, Instant};

use fettlebook_contract::v1::ErrorReason;
use http_body_util::Full;
use tonic::Status;
use tonic::body::Body;
use tonic::codegen::Bytes;
use tonic::codegen::http::Request;
use tonic::service::Routes;
use tonic_types::{ErrorInfo, StatusExt as _};
use tower::{Layer as _, ServiceExt as _};
use uuid::Uuid;

use super::{Confirmed, Switch, Usage};
use crate::desk::{Desk, DeskOptions};
use crate::edge::status::reason_name;
use crate::edge::until_end::until_end;
use crate::edge::{Caller, Edge};
use crate::limits::{BOOK_ASKS_MAX, CONFIRMED_MAX};
use crate::store::FolderStore;
use crate::testing::TestClock;

const LIST: &str = "/fettlebook.v1.KitService/ListPieces";
const HEALTH: &str = "/grpc.health.v1.Health/Check";
const OTHER: &str = "/grpc.reflection.v1.ServerReflection/ServerReflectionInfo";

/// A book that is here.
fn here() -> (tempfile::TempDir, Desk, Edge) {
    let folder = tempfile::tempdir().unwrap();
    let options = DeskOptions::new(TestClock::at("2026-06-03T18:00:00Z"), Uuid::from_u128(1));
    let (desk, _) = Desk::open(Arc::new(FolderStore::at(folder.path())), &options).unwrap();
    let edge = Edge::new(desk.clone(), Caller::owner("local"));
    (folder, desk, edge)
}

/// Why an rpc is refused, where it is.
async fn refused(switch: &Switch, path: &str) -> Option<ErrorInfo> {
    // One empty message. Source: gRPC over HTTP/2, "Length-Prefixed-Message".
    let request = Request::post(path)
        .header("content-type", "application/grpc")
        .body(Body::new(Full::new(Bytes::from_static(&[0; 5]))))
        .unwrap();
    let services = switch.layer(Routes::default());
    let answer = services.oneshot(request).await.unwrap();
    let status = Status::from_header_map(answer.headers())?;
    status.get_details_error_info()
}

/// Whether an rpc is answered with where the book is, and where that is said to be.
async fn sent_on(switch: &Switch, path: &str) -> Option<Option<String>> {
    let info = refused(switch, path).await?;
    (info.reason == reason_name(ErrorReason::HeldElsewhere))
        .then(|| info.metadata.get("held_at").cloned())
}

/// Confirmed so long ago.
fn confirmed(ago: Duration) -> Arc<Confirmed> {
    Arc::new(Confirmed {
        start: Instant::now().checked_sub(ago).unwrap(),
        at_ms: 0.into(),
    })
}

#[tokio::test]
async fn a_book_that_is_elsewhere_is_said_to_be_there_and_health_is_answered() {
    let switch = Switch::default();
    assert_eq!(sent_on(&switch, LIST).await, Some(None));
    switch.to_elsewhere(Some("bench.example:7420".into()));
    let at = Some(Some("bench.example:7420".to_owned()));
    assert_eq!(sent_on(&switch, LIST).await, at);
    assert_eq!(sent_on(&switch, OTHER).await, at);
    assert_eq!(sent_on(&switch, HEALTH).await, None);
}

#[tokio::test]
async fn a_book_that_is_here_is_read_for_as_long_as_that_is_confirmed() {
    let (_folder, desk, edge) = here();
    let switch = Switch::default();
    let lately = confirmed(CONFIRMED_MAX - Duration::from_secs(1));
    switch.to_here(&edge, lately);
    assert_eq!(sent_on(&switch, LIST).await, None);
    let late = confirmed(CONFIRMED_MAX + Duration::from_secs(1));
    switch.to_here(&edge, Arc::clone(&late));
    assert_eq!(sent_on(&switch, LIST).await, Some(None));
    assert_eq!(sent_on(&switch, HEALTH).await, None);
    // What was asked long ago says nothing of now, however late its answer came.
    late.again(Instant::now().checked_sub(CONFIRMED_MAX * 2).unwrap());
    assert_eq!(sent_on(&switch, LIST).await, Some(None));
    late.again(Instant::now());
    assert_eq!(sent_on(&switch, LIST).await, None);
    desk.close().await.unwrap();
}

#[tokio::test]
async fn whoever_comes_late_to_a_book_that_was_handed_over_is_sent_on() {
    let (_folder, desk, edge) = here();
    let switch = Switch::default();
    switch.to_here(&edge, confirmed(Duration::ZERO));
    let to: Arc<str> = "bench.example:7420".into();
    desk.clone().hand_over(Some(to)).await.unwrap();
    // The switch is not set yet: a request that went by it before finds the book closed.
    let asked = "/fettlebook.v1.BookService/ListEntries";
    let at = Some(Some("bench.example:7420".to_owned()));
    assert_eq!(sent_on(&switch, asked).await, at);
}

#[tokio::test]
async fn whoever_comes_while_too_much_is_asked_of_a_book_is_told_to_come_again() {
    let switch = Switch::default();
    let usage = switch.usage();
    let under_way: Vec<_> = (0..BOOK_ASKS_MAX).map(|_| usage.begin().unwrap()).collect();
    let told = refused(&switch, LIST).await.unwrap();
    assert_eq!(told.reason, reason_name(ErrorReason::Busy));
    drop(under_way);
    assert_eq!(sent_on(&switch, LIST).await, Some(None));
}

#[tokio::test]
async fn a_book_is_in_use_until_the_last_answer_has_ended_and_no_more_than_so_much_at_once() {
    let usage = Usage::default();
    assert!(usage.idle_for().is_some());
    let using: Vec<_> = (0..BOOK_ASKS_MAX).map(|_| usage.begin().unwrap()).collect();
    assert!(usage.begin().is_none());
    assert_eq!(usage.idle_for(), None);
    drop(using);
    assert!(
        usage
            .idle_for()
            .is_some_and(|idle| idle < Duration::from_secs(1))
    );
    // An answer counts until its body is gone, read or not.
    let body = Body::new(Full::new(Bytes::from_static(&[0; 5])));
    let answer = until_end(body, usage.begin().unwrap());
    assert_eq!(usage.idle_for(), None);
    drop(answer);
    assert!(usage.idle_for().is_some());
    // What is done beside keeps it as well, and counts for no use of it.
    let unused = usage.idle_for().unwrap();
    let hold = usage.hold();
    assert_eq!(usage.idle_for(), None);
    std::thread::sleep(Duration::from_millis(5));
    drop(hold);
    assert!(usage.idle_for().unwrap() > unused);
}
