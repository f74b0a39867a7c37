//! Health: what whoever keeps the service running is told, with a token or without.

use std::time::Duration;

use fettlebook_contract::v1;
use fettlebook_contract::v1::book_service_client::BookServiceClient;
use fettlebook_contract::v1::kit_service_client::KitServiceClient;
use tokio_stream::StreamExt as _;
use tonic::transport::Channel;
use tonic::{Code, Streaming};
use tonic_health::pb::health_check_response::ServingStatus;
use tonic_health::pb::health_client::HealthClient;
use tonic_health::pb::{HealthCheckRequest, HealthCheckResponse};

use super::devices::Shop;
use super::tcp::{Served, serve};
use super::{coarse_foam, fresh};

/// The service as a whole, and each of its services.
const NAMES: [&str; 6] = [
    "",
    "fettlebook.v1.KitService",
    "fettlebook.v1.JobService",
    "fettlebook.v1.BookService",
    "fettlebook.v1.SupplyService",
    "fettlebook.v1.AccessService",
];

fn of(name: &str) -> HealthCheckRequest {
    HealthCheckRequest {
        service: name.to_owned(),
    }
}

async fn status(channel: &Channel, name: &str) -> ServingStatus {
    let asked = HealthClient::new(channel.clone()).check(of(name)).await;
    asked.unwrap().into_inner().status()
}

async fn watch(channel: &Channel) -> Streaming<HealthCheckResponse> {
    let asked = HealthClient::new(channel.clone()).watch(of("")).await;
    asked.unwrap().into_inner()
}

/// The next thing that a watch is told.
async fn next(watch: &mut Streaming<HealthCheckResponse>) -> ServingStatus {
    let soon = Duration::from_secs(5);
    let told = tokio::time::timeout(soon, watch.next()).await.unwrap();
    told.unwrap().unwrap().status()
}

#[tokio::test]
async fn it_serves_until_it_is_told_to_stop() {
    let Served {
        channel,
        stop,
        serving,
        ..
    } = serve().await;
    let mut told = watch(&channel).await;
    while next(&mut told).await != ServingStatus::Serving {}
    for name in NAMES {
        assert_eq!(
            status(&channel, name).await,
            ServingStatus::Serving,
            "{name}"
        );
    }
    stop.send(()).unwrap();
    assert_eq!(next(&mut told).await, ServingStatus::NotServing);
    drop((told, channel));
    serving.await.unwrap().unwrap();
}

/// The story: the disk harms the journal while the service runs, and a verification finds it. From then on
/// the book is only read, and whoever sends orders there is told to send them elsewhere.
#[tokio::test]
async fn it_does_not_serve_from_when_the_book_is_only_read() {
    let served = serve().await;
    let mut told = watch(&served.channel).await;
    while next(&mut told).await != ServingStatus::Serving {}
    let request = v1::CreateMakeRequest {
        request_id: fresh(),
        make: Some(coarse_foam("coarse-foam-150", 150)),
    };
    let mut kit = KitServiceClient::new(served.channel.clone());
    kit.create_make(request).await.unwrap();
    let file = served.folder.path().join("journal/000000000001.jsonl");
    let mut line = std::fs::read(&file).unwrap();
    let at = line.windows(4).position(|word| word == b"foam").unwrap();
    line[at] = b'F';
    std::fs::write(&file, line).unwrap();
    let mut book = BookServiceClient::new(served.channel.clone());
    let verified = book.verify_book(v1::VerifyBookRequest {}).await.unwrap();
    assert!(!verified.into_inner().findings.is_empty());
    assert_eq!(next(&mut told).await, ServingStatus::NotServing);
    for name in NAMES {
        let is = status(&served.channel, name).await;
        assert_eq!(is, ServingStatus::NotServing, "{name}");
    }
}

/// Over TLS too, where all else wants a token; of names that are none nothing is told but that.
#[tokio::test]
async fn nobody_needs_a_token_to_ask_for_it() {
    let shop = Shop::open().await;
    let channel = shop.channel().await;
    let mut told = watch(&channel).await;
    while next(&mut told).await != ServingStatus::Serving {}
    drop(told);
    for name in NAMES {
        assert_eq!(
            status(&channel, name).await,
            ServingStatus::Serving,
            "{name}"
        );
    }
    let mut health = HealthClient::new(channel.clone());
    let unknown = health.check(of("fettlebook.v1.NoSuchService")).await;
    assert_eq!(unknown.unwrap_err().code(), Code::NotFound);
    let mut book = BookServiceClient::new(channel);
    let refused = book
        .get_book(v1::GetBookRequest::default())
        .await
        .unwrap_err();
    assert_eq!(refused.code(), Code::Unauthenticated);
}
