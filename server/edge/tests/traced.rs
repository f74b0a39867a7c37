//! The log line of a request says which request it was and who asked, whatever became of it.

use std::io::{self, Write};
use std::sync::{Arc, LazyLock, Mutex};

use fettlebook_contract::v1;
use fettlebook_contract::v1::book_service_client::BookServiceClient;
use fettlebook_contract::v1::kit_service_client::KitServiceClient;
use prometheus_client::encoding::text::encode;
use prometheus_client::registry::Registry;
use serde_json::Value;
use tracing::Level;
use tracing_subscriber::Layer as _;
use tracing_subscriber::filter::Targets;
use tracing_subscriber::fmt::MakeWriter;
use tracing_subscriber::layer::SubscriberExt as _;
use tracing_subscriber::util::SubscriberInitExt as _;

use super::{fresh, tcp, words};
use crate::edge::tests::Answered as _;

/// What all tests of this program logged about requests: a subscriber of one thread alone misses
/// lines whose place another thread came to first.
#[derive(Clone, Default)]
pub(super) struct Log(Arc<Mutex<Vec<u8>>>);

impl Log {
    pub(super) fn all() -> &'static Self {
        static ALL: LazyLock<Log> = LazyLock::new(|| {
            let log = Log::default();
            let lines = tracing_subscriber::fmt::layer()
                .json()
                .with_writer(log.clone())
                .with_filter(
                    Targets::new()
                        .with_target("fettlebook_server::edge::traced", Level::INFO)
                        .with_target("fettlebook_server::access", Level::ERROR),
                );
            tracing_subscriber::registry().with(lines).init();
            log
        });
        &ALL
    }

    /// The lines about a request.
    fn lines(&self, request_id: &str) -> Vec<Value> {
        self.lines_where(|line| line["span"]["request_id"] == request_id)
    }

    /// The lines of which something is true.
    pub(super) fn lines_where(&self, wanted: impl Fn(&Value) -> bool) -> Vec<Value> {
        let text = String::from_utf8(self.0.lock().unwrap().clone()).unwrap();
        let lines = text.lines().map(|line| serde_json::from_str(line).unwrap());
        lines.filter(|line| wanted(line)).collect()
    }
}

impl Write for Log {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.lock().unwrap().write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl<'a> MakeWriter<'a> for Log {
    type Writer = Self;

    fn make_writer(&'a self) -> Self {
        self.clone()
    }
}

#[tokio::test]
async fn a_refusal_is_logged_with_its_request_id_and_who_asked() {
    let log = Log::all();
    let served = tcp::serve().await;
    let (washed, reversed) = (fresh(), fresh());
    let wash = v1::WashKitRequest {
        request_id: washed.clone(),
        tags: words(&["P-99"]),
        ..Default::default()
    };
    let mut kit = KitServiceClient::new(served.channel.clone());
    kit.wash_kit(wash).await.unwrap_err();
    // Refused before the desk hears of it.
    let reverse = v1::ReverseEntryRequest {
        request_id: reversed.clone(),
        ..Default::default()
    };
    let mut book = BookServiceClient::new(served.channel.clone());
    book.reverse_entry(reverse).await.unwrap_err();
    for (request_id, method, reason, code) in [
        (&washed, "KitService/WashKit", "TAG_UNKNOWN", "NOT_FOUND"),
        (
            &reversed,
            "BookService/ReverseEntry",
            "FIELD_MISSING",
            "INVALID_ARGUMENT",
        ),
    ] {
        let lines = log.lines(request_id);
        assert_eq!(lines.len(), 1, "{lines:?}");
        let (fields, span) = (&lines[0]["fields"], &lines[0]["span"]);
        assert_eq!(span["name"], "request");
        assert_eq!(span["method"], format!("fettlebook.v1.{method}"));
        assert_eq!(span["caller"], "local");
        assert_eq!(span["code"], code);
        assert_eq!(fields["message"], "refused");
        assert_eq!(fields["reason"], reason);
        assert!(fields["time_us"].is_u64(), "{fields}");
    }
}

#[tokio::test]
async fn a_stream_is_in_flight_until_it_ends_and_then_counts_by_how_it_ended() {
    let served = tcp::serve().await;
    let read = || {
        let mut registry = Registry::default();
        served.desk.meters().register(&mut registry);
        let mut page = String::new();
        encode(&mut page, &registry).unwrap();
        page
    };
    let mut book = BookServiceClient::new(served.channel.clone());
    let watch = book.watch_entries(v1::WatchEntriesRequest {
        after_seq: 0,
        ..v1::WatchEntriesRequest::default()
    });
    let mut watch = watch.answer().await;
    let page = read();
    assert!(page.contains("requests_in_flight 1\n"), "{page}");
    assert!(page.contains("watches_open 1\n"), "{page}");
    assert!(!page.contains("requests_total{"), "{page}");
    served.stop.send(()).unwrap();
    watch.message().await.unwrap_err();
    let page = read();
    for line in [
        r#"requests_total{method="fettlebook.v1.BookService/WatchEntries",code="UNAVAILABLE"} 1"#,
        r#"refusals_total{reason="STOPPING"} 1"#,
        "requests_in_flight 0",
    ] {
        assert!(page.contains(&format!("{line}\n")), "{line}\n{page}");
    }
}
