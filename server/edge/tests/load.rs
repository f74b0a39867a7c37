//! The service under load: deadlines, watches and connections, over TCP.

use std::time::Duration;

use fettlebook_contract::v1;
use fettlebook_contract::v1::book_service_client::BookServiceClient;
use fettlebook_contract::v1::job_service_client::JobServiceClient;
use prometheus_client::encoding::text::encode;
use prometheus_client::registry::Registry;
use tokio_stream::StreamExt as _;
use tonic::Request;
use tonic::transport::Channel;

use super::tcp::{Served, serve, serve_from};
use super::{assert_told, fresh};
use crate::edge::tests::Answered as _;
use crate::testing::TestDisk;

fn new_car(id: &str) -> v1::CreateCarRequest {
    v1::CreateCarRequest {
        request_id: fresh(),
        car: Some(v1::Car {
            car: id.to_owned(),
            class: v1::CarClass::MediumSaloon.into(),
            ..Default::default()
        }),
        ..Default::default()
    }
}

async fn add_car(channel: &Channel, id: &str) {
    let mut jobs = JobServiceClient::new(channel.clone());
    jobs.create_car(new_car(id)).await.unwrap();
}

/// Waits until the service has so many requests that it has not ended.
async fn until_in_flight(served: &Served, count: usize) {
    let mut registry = Registry::default();
    served.desk.meters().register(&mut registry);
    let wanted = format!("requests_in_flight {count}\n");
    loop {
        let mut figures = String::new();
        encode(&mut figures, &registry).unwrap();
        if figures.contains(&wanted) {
            return;
        }
        tokio::time::sleep(Duration::from_millis(1)).await;
    }
}

async fn watch(
    channel: &Channel,
    after_seq: i64,
) -> Result<tonic::Streaming<v1::WatchEntriesResponse>, tonic::Status> {
    let mut book = BookServiceClient::new(channel.clone());
    let watch = book.watch_entries(v1::WatchEntriesRequest {
        after_seq,
        ..v1::WatchEntriesRequest::default()
    });
    Ok(watch.await?.into_inner())
}

async fn next_seq(watch: &mut tonic::Streaming<v1::WatchEntriesResponse>) -> i64 {
    watch.next().await.unwrap().unwrap().entry.unwrap().seq
}

#[tokio::test]
async fn a_request_whose_time_is_up_before_its_turn_is_never_recorded() {
    let disk = TestDisk::new();
    let served = serve_from(disk.clone()).await;
    add_car(&served.channel, "first").await;
    disk.hold();
    let mut jobs = JobServiceClient::new(served.channel.clone());
    let mut writing = jobs.clone();
    let written = tokio::spawn(async move { writing.create_car(new_car("second")).await });
    while disk.append_count() < 2 {
        tokio::time::sleep(Duration::from_millis(1)).await;
    }
    let late = new_car("late");
    let mut request = Request::new(late.clone());
    request.set_timeout(Duration::from_millis(50));
    let mut calling = jobs.clone();
    let called = tokio::spawn(async move { calling.create_car(request).await });
    until_in_flight(&served, 2).await;
    called.await.unwrap().unwrap_err();
    // The client knew first; the service counts the same time from a little later.
    until_in_flight(&served, 1).await;
    disk.release();
    written.await.unwrap().unwrap();
    add_car(&served.channel, "third").await;
    assert_eq!(served.desk.standing().head.seq.0, 3);
    let again = jobs.create_car(late).answer().await;
    assert_eq!(again.entry.unwrap().seq, 4, "sent again, it counts once");
}

#[tokio::test]
async fn a_watch_gives_what_is_recorded_and_then_what_comes() {
    let served = serve().await;
    for id in ["a", "b", "c"] {
        add_car(&served.channel, id).await;
    }
    let mut all = watch(&served.channel, 0).await.unwrap();
    let mut later = watch(&served.channel, 2).await.unwrap();
    for seq in 1..=3 {
        assert_eq!(next_seq(&mut all).await, seq);
    }
    assert_eq!(next_seq(&mut later).await, 3);
    for seq in 4..=200 {
        add_car(&served.channel, &format!("car-{seq}")).await;
    }
    for seq in 4..=200 {
        assert_eq!(next_seq(&mut all).await, seq);
        assert_eq!(next_seq(&mut later).await, seq);
    }
}

#[tokio::test]
async fn a_watch_from_an_entry_that_the_book_does_not_have_is_refused() {
    let served = serve().await;
    add_car(&served.channel, "a").await;
    let status = watch(&served.channel, 2).await.unwrap_err();
    assert_told(&status, "ENTRY_UNKNOWN", "after_seq");
    let status = watch(&served.channel, -1).await.unwrap_err();
    assert_told(&status, "QUANTITY_INVALID", "after_seq");
}

#[tokio::test]
async fn a_watch_that_nobody_reads_does_not_keep_others_from_recording() {
    let served = serve().await;
    let _unread = watch(&served.channel, 0).await.unwrap();
    for number in 0..300 {
        add_car(&served.channel, &format!("car-{number}")).await;
    }
    assert_eq!(served.desk.standing().head.seq.0, 300);
}

#[tokio::test]
async fn a_service_that_stops_does_not_wait_for_watches_and_tells_them_where_to_go_on() {
    let Served {
        folder: _folder,
        desk,
        channel,
        stop,
        serving,
        ..
    } = serve().await;
    add_car(&channel, "a").await;
    let mut open = watch(&channel, 0).await.unwrap();
    assert_eq!(next_seq(&mut open).await, 1);
    stop.send(()).unwrap();
    let status = open.next().await.unwrap().unwrap_err();
    let soon = tokio::time::timeout(Duration::from_secs(5), serving);
    soon.await.unwrap().unwrap().unwrap();
    assert_told(&status, "STOPPING", "");
    desk.close().await.unwrap();
}
