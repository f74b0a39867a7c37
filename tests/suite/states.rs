//! A service in a bad state, and what clients that we did not write are told: too many watches, a
//! harmed book, a full disk, a stop, a watch that is not read, an edit that somebody else overtakes.

use std::fs;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use fettlebook_contract::v1;
use fettlebook_contract::v1::book_service_client::BookServiceClient;
use fettlebook_contract::v1::kit_service_client::KitServiceClient;
use fettlebook_contract::v1::supply_service_client::SupplyServiceClient;
use tokio::runtime::Runtime;
use tokio::task::JoinSet;
use tonic::Code;
use tonic::transport::{Channel, Endpoint};
use uuid::Uuid;

use crate::binaries::{Fettled, Shop, done, fettle, kept_demo};
use crate::clients;
use crate::later;

/// As many as may be open. Source: the sentence with which one more is refused.
const WATCHES_MAX: usize = 64;

/// Blocks of 512 bytes that the files of the demo's book may have: less than its journal has already.
const BLOCKS: u32 = 64;

/// A day on which a book was used last that rested since.
pub(crate) const LONG_AGO: &str = "2026-03-13";

/// Callers at the same time, where a test needs many.
const CALLERS: usize = 8;

/// Entries of a book that no connection takes in before somebody reads: at 2 kB each, several times
/// the windows and buffers on the way.
const LONG_COUNT: usize = 2_000;

/// Longest note, in characters of four bytes.
const LONG_NOTE_CHARS: usize = 500;

async fn connect(fettled: &Fettled) -> Channel {
    let endpoint = Endpoint::from_shared(fettled.url.clone()).unwrap();
    endpoint.connect().await.unwrap()
}

fn fresh() -> String {
    Uuid::now_v7().to_string()
}

#[test]
fn one_watch_too_many_is_told_to_come_back() {
    let (runtime, folder) = (Runtime::new().unwrap(), tempfile::tempdir().unwrap());
    let fettled = Fettled::serve(&kept_demo(folder.path(), &[]));
    let watches = runtime.block_on(async {
        let mut book = BookServiceClient::new(connect(&fettled).await);
        let mut watches = Vec::new();
        for _ in 0..WATCHES_MAX {
            let request = v1::WatchEntriesRequest {
                after_seq: 0,
                ..v1::WatchEntriesRequest::default()
            };
            watches.push(book.watch_entries(request).await.unwrap().into_inner());
        }
        watches
    });
    clients::all(fettled.address(), "BUSY");
    drop(watches);
}

#[test]
fn a_full_disk_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let fettled = Fettled::serve_with_blocks(&kept_demo(folder.path(), &[]), BLOCKS);
    clients::all(fettled.address(), "DISK_REFUSES");
}

/// The journal's one file.
fn journal(book: &Path) -> std::path::PathBuf {
    book.join("journal/000000000001.jsonl")
}

#[test]
fn harm_to_a_book_is_told_when_it_is_read_when_it_is_opened_and_when_it_is_gone() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let fettled = Fettled::serve(&book);
    let mut bytes = fs::read(journal(&book)).unwrap();
    let middle = bytes.len() / 2;
    let digit = bytes[middle..].iter().position(u8::is_ascii_digit).unwrap();
    bytes[middle + digit] = if bytes[middle + digit] == b'7' {
        b'8'
    } else {
        b'7'
    };
    fs::write(journal(&book), &bytes).unwrap();
    clients::all(fettled.address(), "DAMAGED");
    fettled.stop();
    let fettled = Fettled::serve(&book);
    clients::all(fettled.address(), "READ_ONLY");
    fs::remove_file(journal(&book)).unwrap();
    fs::create_dir(journal(&book)).unwrap();
    clients::all(fettled.address(), "DISK_FAILED");
}

#[test]
fn a_book_in_which_a_later_fettle_wrote_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    later::append(&book, later::LENT);
    let fettled = Fettled::serve(&book);
    clients::all(fettled.address(), "NEWER_THAN_THIS");
}

/// The demo's story is told as long ago, so that the machine's clock is far ahead of its end.
#[test]
fn a_clock_far_ahead_of_the_last_entry_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let fettled = Fettled::serve(&kept_demo(folder.path(), &["--today", LONG_AGO]));
    clients::all(fettled.address(), "CLOCK_AHEAD");
}

#[test]
fn a_clock_that_is_accepted_once_is_taken_from_then_on() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &["--today", LONG_AGO]);
    let shop = Shop::Solo(&book);
    let asked = fettle(shop, &["wash", "P-01"]);
    assert_eq!(asked.status.code(), Some(5));
    let said = String::from_utf8_lossy(&asked.stderr).into_owned();
    assert!(said.contains("--accept-clock"), "{said}");
    done(shop, &["--accept-clock", "wash", "P-01"]);
    done(shop, &["wash", "P-01"]);
}

#[test]
fn an_open_watch_is_told_that_the_service_stops_and_where_to_go_on() {
    let folder = tempfile::tempdir().unwrap();
    let (fettled, metrics) = Fettled::serve_measured(&kept_demo(folder.path(), &[]));
    let watching = clients::start(fettled.address(), "STOPPING", &[]);
    crate::metrics::wait_for(&metrics, "fettled_watches_open", watching.count());
    fettled.stop();
    watching.finish();
}

#[test]
fn a_watch_that_is_not_read_is_ended_and_told_where_to_go_on() {
    let (runtime, folder) = (Runtime::new().unwrap(), tempfile::tempdir().unwrap());
    let fettled = Fettled::serve(&kept_demo(folder.path(), &[]));
    runtime.block_on(async {
        let kit = KitServiceClient::new(connect(&fettled).await);
        let mut counting = JoinSet::new();
        for _ in 0..CALLERS {
            let mut kit = kit.clone();
            counting.spawn(async move {
                for _ in 0..LONG_COUNT / CALLERS {
                    let request = v1::MoveKitRequest {
                        request_id: fresh(),
                        tags: vec!["P-01".to_owned()],
                        place: "bench".to_owned(),
                        note: "\u{1F9FD}".repeat(LONG_NOTE_CHARS),
                        ..Default::default()
                    };
                    kit.move_kit(request).await.unwrap();
                }
            });
        }
        counting.join_all().await;
    });
    clients::all(fettled.address(), "WATCH_TOO_SLOW");
}

#[test]
fn an_edit_that_somebody_else_overtakes_is_refused() {
    let (runtime, folder) = (Runtime::new().unwrap(), tempfile::tempdir().unwrap());
    let fettled = Fettled::serve(&kept_demo(folder.path(), &[]));
    let enough = Arc::new(AtomicBool::new(false));
    let channel = runtime.block_on(connect(&fettled));
    let editing: Vec<_> = (0..CALLERS)
        .map(|caller| {
            let (supply, enough) = (
                SupplyServiceClient::new(channel.clone()),
                Arc::clone(&enough),
            );
            runtime.spawn(edit_until(supply, caller, enough))
        })
        .collect();
    clients::all(fettled.address(), "CHANGED_MEANWHILE");
    enough.store(true, Ordering::Relaxed);
    for editing in editing {
        runtime.block_on(editing).unwrap();
    }
}

/// Edits a supplier again and again, as somebody else would meanwhile.
async fn edit_until(
    mut supply: SupplyServiceClient<Channel>,
    caller: usize,
    enough: Arc<AtomicBool>,
) {
    for round in 0.. {
        if enough.load(Ordering::Relaxed) {
            return;
        }
        let request = v1::UpdateSupplierRequest {
            request_id: fresh(),
            supplier: Some(v1::Supplier {
                supplier: "tern-quay".to_owned(),
                lead_days: 5 + i64::try_from(caller).unwrap() + 10 * (round % 20),
                ..Default::default()
            }),
            update_mask: None,
        };
        if let Err(status) = supply.update_supplier(request).await {
            assert_eq!(status.code(), Code::Aborted, "{status:?}");
        }
        tokio::time::sleep(Duration::from_micros(200)).await;
    }
}
