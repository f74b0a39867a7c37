//! Messages that cannot be read: cut short, not the contract's, not UTF-8, too long. Each is told in
//! a sentence with a reason, and writes nothing.

use fettlebook_contract::v1;
use prost::Message as _;
use tonic::body::Body;
use tonic::codegen::http;
use tonic::{Request, Status};
use tower::{Service as _, ServiceExt as _};

use super::raw::Raw;
use super::{World, assert_told, fresh};
use crate::edge::tests::Answered as _;
use crate::limits::MESSAGE_BYTES_MAX;

const WASH: &str = "/fettlebook.v1.KitService/WashKit";

async fn send(world: &World, bytes: Vec<u8>) -> Status {
    let mut client = tonic::client::Grpc::new(world.service.channel());
    client.ready().await.unwrap();
    let path = http::uri::PathAndQuery::from_static(WASH);
    client
        .unary(Request::new(bytes), path, Raw)
        .await
        .unwrap_err()
}

fn wash(note: &str) -> v1::WashKitRequest {
    v1::WashKitRequest {
        request_id: fresh(),
        tags: vec!["P-01".to_owned()],
        note: note.to_owned(),
        ..Default::default()
    }
}

#[tokio::test]
async fn a_message_cut_short_is_refused() {
    let world = World::shop().await;
    let before = world.journal();
    let whole = wash("a note to be cut through").encode_to_vec();
    let status = send(&world, whole[..whole.len() - 9].to_vec()).await;
    assert_told(&status, "FIELD_INVALID", "");
    assert!(
        status.message().starts_with("The message cannot be read: "),
        "{}",
        status.message()
    );
    assert_eq!(world.journal(), before);
}

#[tokio::test]
async fn text_that_is_not_utf_8_is_refused() {
    let world = World::shop().await;
    let before = world.journal();
    let mut bytes = wash("XX").encode_to_vec();
    let at = bytes.windows(2).position(|pair| pair == b"XX").unwrap();
    bytes[at] = 0xff;
    let status = send(&world, bytes).await;
    assert_told(&status, "FIELD_INVALID", "");
    assert!(status.message().contains("UTF-8"), "{}", status.message());
    assert_eq!(world.journal(), before);
}

#[tokio::test]
async fn bytes_that_are_no_message_are_refused() {
    let world = World::shop().await;
    let before = world.journal();
    assert_told(&send(&world, vec![0xff; 40]).await, "FIELD_INVALID", "");
    assert_eq!(world.journal(), before);
}

#[tokio::test]
async fn a_message_over_the_limit_is_refused_and_one_under_it_is_read() {
    let world = World::shop().await;
    let before = world.journal();
    let status = world
        .kit()
        .wash_kit(wash(&"x".repeat(MESSAGE_BYTES_MAX + 1)))
        .await
        .unwrap_err();
    assert_told(&status, "FIELD_INVALID", "");
    assert!(
        status.message().contains("4194304 at most are taken here"),
        "{}",
        status.message()
    );
    let long = "x".repeat(MESSAGE_BYTES_MAX - 100);
    let status = world.kit().wash_kit(wash(&long)).await.unwrap_err();
    assert_told(&status, "FIELD_INVALID", "note");
    assert_eq!(world.journal(), before);
}

/// The frame announces sixteen bytes and brings four.
#[tokio::test]
async fn a_frame_cut_short_is_refused() {
    let world = World::shop().await;
    let before = world.journal();
    let frame = "\0\0\0\0\u{10}abcd".to_owned();
    let request = http::Request::post(WASH)
        .header("content-type", "application/grpc")
        .header("te", "trailers")
        .body(Body::new(frame))
        .unwrap();
    let mut channel = world.service.channel();
    let response = channel.ready().await.unwrap().call(request).await.unwrap();
    let status = Status::from_header_map(response.headers()).unwrap();
    assert_told(&status, "FIELD_INVALID", "");
    assert_eq!(world.journal(), before);
}

#[tokio::test]
async fn fields_of_a_later_contract_are_passed_over() {
    let world = World::shop().await;
    let mut bytes = wash("").encode_to_vec();
    // Field 900, a varint.
    bytes.extend([0xa0, 0x38, 0x01]);
    let mut client = tonic::client::Grpc::new(world.service.channel());
    client.ready().await.unwrap();
    let path = http::uri::PathAndQuery::from_static(WASH);
    let answer = client.unary(Request::new(bytes), path, Raw).answer().await;
    let entry = v1::WashKitResponse::decode(answer.as_slice())
        .unwrap()
        .entry
        .unwrap();
    assert_eq!(entry.deeds[0].kind(), v1::DeedKind::Washed);
}
