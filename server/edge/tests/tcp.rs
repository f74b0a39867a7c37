//! The service over TCP: reflection, the same refusals, and an end that can be told.

use std::net::SocketAddr;
use std::sync::Arc;

use fettlebook_contract::v1;
use fettlebook_contract::v1::book_service_client::BookServiceClient;
use fettlebook_contract::v1::kit_service_client::KitServiceClient;
use prost::Message as _;
use prost_types::FileDescriptorProto;
use prost_types::source_code_info::Location as SourceLocation;
use tokio::net::TcpListener;
use tokio::sync::oneshot;
use tokio::task::JoinHandle;
use tokio_stream::StreamExt as _;
use tonic::transport::{Channel, Endpoint};
use tonic_reflection::pb::v1::server_reflection_client::ServerReflectionClient;
use tonic_reflection::pb::v1::server_reflection_request::MessageRequest;
use tonic_reflection::pb::v1::server_reflection_response::MessageResponse;
use tonic_reflection::pb::v1::{ServerReflectionRequest, ServerReflectionResponse};
use uuid::Uuid;

use super::{NOW, assert_told, fresh, journal_of};
use crate::desk::{Desk, DeskOptions};
use crate::edge::tests::Answered as _;
use crate::limits::MESSAGE_BYTES_MAX;
use crate::serve::{ServeError, serve_on};
use crate::store::FolderStore;
use crate::testing::{TestClock, TestDisk};

pub(super) struct Served {
    pub(super) folder: tempfile::TempDir,
    pub(super) desk: Desk,
    pub(super) address: SocketAddr,
    pub(super) channel: Channel,
    pub(super) stop: oneshot::Sender<()>,
    pub(super) serving: JoinHandle<Result<(), ServeError>>,
}

pub(super) async fn serve() -> Served {
    serve_from(TestDisk::new()).await
}

/// A service whose journal is on this disk.
pub(super) async fn serve_from(disk: TestDisk) -> Served {
    let folder = tempfile::tempdir().unwrap();
    let options = DeskOptions::new(TestClock::at(NOW), Uuid::now_v7());
    let store = FolderStore::at(folder.path()).on(Arc::new(disk));
    let (desk, _) = Desk::open(Arc::new(store), &options).unwrap();
    let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = listener.local_addr().unwrap();
    let (stop, stopped) = oneshot::channel();
    let served = desk.clone();
    let serving = tokio::spawn(async move {
        let stopped = async { stopped.await.unwrap() };
        serve_on(listener, &served, stopped).await
    });
    let endpoint = Endpoint::from_shared(format!("http://{address}")).unwrap();
    let channel = endpoint.connect().await.unwrap();
    Served {
        folder,
        desk,
        address,
        channel,
        stop,
        serving,
    }
}

#[tokio::test]
async fn reflection_answers_for_every_service() {
    let served = serve().await;
    let asked = ServerReflectionRequest {
        host: String::new(),
        message_request: Some(MessageRequest::ListServices(String::new())),
    };
    let mut client = ServerReflectionClient::new(served.channel.clone());
    let answers = client
        .server_reflection_info(tokio_stream::once(asked))
        .await
        .unwrap();
    let answers: Vec<ServerReflectionResponse> =
        answers.into_inner().map(Result::unwrap).collect().await;
    let Some(MessageResponse::ListServicesResponse(list)) = &answers[0].message_response else {
        panic!("{answers:?}")
    };
    let names: Vec<&str> = list
        .service
        .iter()
        .map(|service| service.name.as_str())
        .collect();
    for name in [
        "fettlebook.v1.KitService",
        "fettlebook.v1.JobService",
        "fettlebook.v1.BookService",
        "fettlebook.v1.SupplyService",
        "fettlebook.v1.AccessService",
    ] {
        assert!(names.contains(&name), "{names:?}");
    }
}

/// The file that reflection gives for a symbol.
async fn file_of(channel: &Channel, symbol: &str) -> FileDescriptorProto {
    let asked = ServerReflectionRequest {
        host: String::new(),
        message_request: Some(MessageRequest::FileContainingSymbol(symbol.to_owned())),
    };
    let mut client = ServerReflectionClient::new(channel.clone());
    let asked = tokio_stream::once(asked);
    let mut answers = client.server_reflection_info(asked).answer().await;
    let answer = answers.next().await.unwrap().unwrap();
    let Some(MessageResponse::FileDescriptorResponse(files)) = answer.message_response else {
        panic!("{answer:?}")
    };
    FileDescriptorProto::decode(files.file_descriptor_proto[0].as_slice()).unwrap()
}

/// Comments come along, and what details of errors are made of is known by name.
#[tokio::test]
async fn reflection_tells_the_comments_and_the_details_of_errors() {
    let served = serve().await;
    let file = file_of(&served.channel, "fettlebook.v1.JobService.LogUse").await;
    let said = file.source_code_info.unwrap_or_default().location;
    let said: Vec<&str> = said.iter().map(SourceLocation::leading_comments).collect();
    assert!(said.iter().any(|text| text.contains("Log")), "{said:?}");
    for name in ["google.rpc.ErrorInfo", "google.rpc.BadRequest"] {
        let file = file_of(&served.channel, name).await;
        assert_eq!(file.package(), "google.rpc");
    }
}

#[tokio::test]
async fn the_older_reflection_answers_too() {
    use tonic_reflection::pb::v1alpha::ServerReflectionRequest;
    use tonic_reflection::pb::v1alpha::server_reflection_client::ServerReflectionClient;
    use tonic_reflection::pb::v1alpha::server_reflection_request::MessageRequest;
    let served = serve().await;
    let symbol = "fettlebook.v1.JobService.LogUse".to_owned();
    let asked = ServerReflectionRequest {
        host: String::new(),
        message_request: Some(MessageRequest::FileContainingSymbol(symbol)),
    };
    let mut client = ServerReflectionClient::new(served.channel.clone());
    let mut answers = client
        .server_reflection_info(tokio_stream::once(asked))
        .answer()
        .await;
    assert!(answers.next().await.unwrap().is_ok());
}

#[tokio::test]
async fn a_message_over_the_limit_is_refused_over_tcp_too() {
    let served = serve().await;
    let before = journal_of(served.folder.path());
    let request = v1::WashKitRequest {
        request_id: fresh(),
        note: "x".repeat(MESSAGE_BYTES_MAX + 1),
        ..Default::default()
    };
    let status = KitServiceClient::new(served.channel.clone())
        .wash_kit(request)
        .await
        .unwrap_err();
    assert_told(&status, "FIELD_INVALID", "");
    assert_eq!(journal_of(served.folder.path()), before);
    let next = v1::GetPieceRequest {
        tag: "P-01".to_owned(),
    };
    let status = KitServiceClient::new(served.channel)
        .get_piece(next)
        .await
        .unwrap_err();
    assert_told(&status, "TAG_UNKNOWN", "tag");
}

#[tokio::test]
async fn a_read_only_book_is_read_and_says_why_nothing_is_recorded() {
    let served = serve().await;
    let make = super::coarse_foam("coarse-foam-150", 150);
    let request = v1::CreateMakeRequest {
        request_id: fresh(),
        make: Some(make),
    };
    KitServiceClient::new(served.channel.clone())
        .create_make(request.clone())
        .await
        .unwrap();
    let Served {
        folder,
        desk,
        channel,
        stop,
        serving,
        ..
    } = served;
    drop(channel);
    stop.send(()).unwrap();
    serving.await.unwrap().unwrap();
    desk.close().await.unwrap();
    let file = folder.path().join("journal/000000000001.jsonl");
    let mut line = std::fs::read(&file).unwrap();
    let at = line.windows(4).position(|word| word == b"foam").unwrap();
    line[at] = b'F';
    std::fs::write(&file, line).unwrap();
    std::fs::remove_dir_all(folder.path().join("shelf")).unwrap();

    let service = crate::solo::open(
        folder.path(),
        DeskOptions::new(TestClock::at(NOW), Uuid::now_v7()),
    )
    .await
    .unwrap();
    assert!(service.report().read_only.is_some());
    let request = v1::CreateMakeRequest {
        request_id: fresh(),
        ..request
    };
    let status = KitServiceClient::new(service.channel())
        .create_make(request)
        .await
        .unwrap_err();
    assert_told(&status, "READ_ONLY", "");
    let book = BookServiceClient::new(service.channel())
        .get_book(v1::GetBookRequest::default())
        .await;
    assert!(
        book.unwrap()
            .into_inner()
            .read_only_reason
            .contains("entry 1")
    );
}

#[tokio::test]
async fn it_stops_when_told_though_a_client_stays_connected() {
    let served = serve().await;
    let mut client = BookServiceClient::new(served.channel.clone());
    client
        .get_book(v1::GetBookRequest::default())
        .await
        .unwrap();
    served.stop.send(()).unwrap();
    let soon = std::time::Duration::from_secs(5);
    tokio::time::timeout(soon, served.serving)
        .await
        .unwrap()
        .unwrap()
        .unwrap();
    served.desk.close().await.unwrap();
}
