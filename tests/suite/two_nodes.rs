//! Two nodes on one book, with the real binaries: the one that has it is killed, paused and stopped, and the other
//! goes on with it; whoever asks the wrong one is told where it is.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::thread::sleep;
use std::time::{Duration, Instant};

use fettlebook_contract::v1;
use fettlebook_contract::v1::book_service_client::BookServiceClient;
use fettlebook_contract::v1::kit_service_client::KitServiceClient;
use tokio::runtime::Runtime;
use tonic::transport::{Channel, Endpoint};
use tonic::{Code, Status};
use tonic_health::pb::HealthCheckRequest;
use tonic_health::pb::health_check_response::ServingStatus;
use tonic_health::pb::health_client::HealthClient;
use tonic_types::StatusExt as _;
use uuid::Uuid;

use crate::binaries::{Fettled, Shop, done, fettle, json};
use crate::clients;
use crate::in_engine::{Place, fettled, refused};
use crate::ports::free;
use crate::python::succeeded;

/// Longest time from a kill to the next acknowledgement. Source: the design, "Held to".
const TAKEN_OVER_MAX: Duration = Duration::from_secs(15);

/// Shortest time from a stop to the next acknowledgement where the book was not given back, and its holder is found
/// gone. Source: `HOLDER_GONE_MAX`.
const FOUND_GONE_MIN: Duration = Duration::from_secs(2);

/// How long a holder may be silent, and how often it asks. Source: the README.
const SILENT: Duration = Duration::from_secs(5);
const CONFIRM_EVERY: Duration = Duration::from_secs(1);

/// Two nodes, of which the first has the book.
struct Two {
    place: Place,
    first: Fettled,
    second: Fettled,
}

impl Two {
    /// With kit in the book; none where the machine has no PostgreSQL.
    fn start() -> Option<Self> {
        let place = Place::new()?;
        let first = node(&place, "first", &[]);
        done(
            Shop::At(&first.url),
            &["start", "--kit", "big-small", "--yes"],
        );
        let second = node(&place, "second", &[]);
        Some(Self {
            place,
            first,
            second,
        })
    }
}

fn node(place: &Place, name: &str, options: &[&str]) -> Fettled {
    Fettled::serve_from(&place.url("bench"), &place.path(name), options)
}

async fn channel(at: &str) -> Channel {
    let endpoint = Endpoint::from_shared(at.to_owned()).unwrap();
    endpoint.connect().await.unwrap()
}

/// What a node says of its health.
fn health(runtime: &Runtime, node: &Fettled) -> ServingStatus {
    runtime.block_on(async {
        let mut health = HealthClient::new(channel(&node.url).await);
        let said = health.check(HealthCheckRequest::default()).await;
        said.unwrap().into_inner().status()
    })
}

/// Waits until a node says so of its health.
fn wait_for(runtime: &Runtime, node: &Fettled, status: ServingStatus) {
    let start = Instant::now();
    while health(runtime, node) != status {
        assert!(
            start.elapsed() < TAKEN_OVER_MAX,
            "it does not say {status:?}"
        );
        sleep(Duration::from_millis(50));
    }
}

/// Asks one node, and no other, to record a wash.
async fn wash(channel: Channel, request_id: Uuid) -> Result<i64, Status> {
    let asked = v1::WashKitRequest {
        request_id: request_id.to_string(),
        tags: vec!["P-01".to_owned()],
        ..v1::WashKitRequest::default()
    };
    let answer = KitServiceClient::new(channel).wash_kit(asked).await?;
    Ok(answer.into_inner().entry.unwrap_or_default().seq)
}

/// Where a node says that the book is.
fn held_at(status: &Status) -> String {
    let info = status.get_details_error_info().unwrap();
    assert_eq!(
        (status.code(), info.reason.as_str()),
        (Code::Unavailable, "HELD_ELSEWHERE")
    );
    info.metadata.get("held_at").cloned().unwrap_or_default()
}

/// Asks a node for a wash until it records one; how long that took.
fn until_acknowledged(runtime: &Runtime, node: &Fettled, since: Instant) -> Duration {
    let request_id = Uuid::now_v7();
    loop {
        let asked = runtime.block_on(async { wash(channel(&node.url).await, request_id).await });
        match asked {
            Ok(_) => return since.elapsed(),
            Err(status) => drop(held_at(&status)),
        }
        assert!(
            since.elapsed() < TAKEN_OVER_MAX,
            "nobody took the book over"
        );
        sleep(Duration::from_millis(50));
    }
}

#[test]
fn a_node_that_waits_says_where_the_book_is_and_takes_it_when_its_holder_is_killed() {
    let Some(two) = Two::start() else { return };
    let runtime = Runtime::new().unwrap();
    assert_eq!(health(&runtime, &two.first), ServingStatus::Serving);
    assert_eq!(health(&runtime, &two.second), ServingStatus::NotServing);
    let asked = async { wash(channel(&two.second.url).await, Uuid::now_v7()).await };
    let told = runtime.block_on(asked).unwrap_err();
    assert_eq!(held_at(&told), two.first.address());
    assert!(told.message().contains(two.first.address()), "{told}");
    clients::all(two.second.address(), "HELD_ELSEWHERE");
    // Ours goes where it is told.
    done(Shop::At(&two.second.url), &["wash", "P-02"]);
    let before: i64 = two
        .place
        .ask("SELECT head_seq FROM fettle.book")
        .parse()
        .unwrap();
    assert_eq!(two.place.ask("SELECT epoch FROM fettle.book"), "1");

    let Two {
        place,
        first,
        second,
    } = two;
    let killed = Instant::now();
    first.kill();
    let took = until_acknowledged(&runtime, &second, killed);
    println!("from the kill to the next acknowledgement: {took:?}");
    assert!(took < SILENT, "its sessions were not seen to end: {took:?}");
    assert_eq!(place.ask("SELECT epoch FROM fettle.book"), "2");
    wait_for(&runtime, &second, ServingStatus::Serving);
    let whole = json(Shop::At(&second.url), &["book", "verify"]);
    assert_eq!(whole["whole"], true, "{whole}");
    let after: i64 = place
        .ask("SELECT head_seq FROM fettle.book")
        .parse()
        .unwrap();
    assert_eq!(after, before + 1);

    // The one that was killed comes back and waits.
    let first = node(&place, "first", &[]);
    assert_eq!(health(&runtime, &first), ServingStatus::NotServing);
    assert_eq!(place.ask("SELECT epoch FROM fettle.book"), "2");
}

#[test]
fn a_holder_that_was_paused_never_acknowledges_after_and_waits_from_then_on() {
    let Some(two) = Two::start() else { return };
    let runtime = Runtime::new().unwrap();
    let (to_first, late) = runtime.block_on(async {
        let to_first = channel(&two.first.url).await;
        // So that the connection is there, and only the request comes late.
        wash(to_first.clone(), Uuid::now_v7()).await.unwrap();
        (to_first, Uuid::now_v7())
    });
    let paused = Instant::now();
    two.first.pause();
    let sent = runtime.spawn(wash(to_first.clone(), late));
    let took = until_acknowledged(&runtime, &two.second, paused);
    println!("from the pause to the next acknowledgement: {took:?}");
    // It asked last a moment before, how long depends on how much this machine had to do.
    assert!(
        took > SILENT / 2,
        "it was not silent for long enough: {took:?}"
    );

    two.first.signal("CONT");
    let answer = runtime.block_on(sent).unwrap();
    // What it says of the other it may not know yet: it is not sure of itself any more, which is enough.
    let told = held_at(&answer.unwrap_err());
    assert!(told.is_empty() || told == two.second.address(), "{told}");
    let read = runtime.block_on(async {
        let mut kit = KitServiceClient::new(to_first.clone());
        kit.list_pieces(v1::ListPiecesRequest::default()).await
    });
    drop(held_at(&read.unwrap_err()));
    wait_for(&runtime, &two.first, ServingStatus::NotServing);
    let start = Instant::now();
    loop {
        let told = runtime.block_on(wash(to_first.clone(), late)).unwrap_err();
        if held_at(&told) == two.second.address() {
            break;
        }
        assert!(
            start.elapsed() < TAKEN_OVER_MAX,
            "it does not find out who has the book"
        );
        sleep(Duration::from_millis(50));
    }
    // Under the same request id it counts there, once.
    let seq = runtime.block_on(async {
        let to_second = channel(&two.second.url).await;
        let seq = wash(to_second.clone(), late).await.unwrap();
        assert_eq!(wash(to_second, late).await.unwrap(), seq);
        seq
    });
    let head = two.place.ask("SELECT head_seq FROM fettle.book");
    assert_eq!(head, seq.to_string());
    // And it takes the book again when the other goes.
    let stopped = Instant::now();
    two.second.stop();
    until_acknowledged(&runtime, &two.first, stopped);
}

#[test]
fn a_node_that_is_stopped_gives_the_book_back_first() {
    let Some(two) = Two::start() else { return };
    let runtime = Runtime::new().unwrap();
    let watch = async {
        let mut book = BookServiceClient::new(channel(&two.first.url).await);
        let asked = v1::WatchEntriesRequest::default();
        let mut watch = book.watch_entries(asked).await.unwrap().into_inner();
        watch.message().await.unwrap().unwrap();
        watch
    };
    let mut watch = runtime.block_on(watch);
    let stopped = Instant::now();
    two.first.signal("TERM");
    let took = until_acknowledged(&runtime, &two.second, stopped);
    println!("from the stop to the next acknowledgement: {took:?}");
    assert!(took < FOUND_GONE_MIN, "{took:?}");
    let ended = runtime.block_on(async {
        loop {
            if let Err(status) = watch.message().await {
                return status;
            }
        }
    });
    let info = ended.get_details_error_info().unwrap();
    assert_eq!(info.reason, "STOPPING");
    two.first.stop();
}

/// The engine shows a role the sessions of no other: what is left is the lock, which a holder that hangs keeps.
#[test]
fn a_node_under_another_role_goes_by_the_lock_alone() {
    let Some(place) = Place::new() else { return };
    place.engine.run(
        &place.database,
        "DO $$ BEGIN CREATE ROLE bench_too LOGIN INHERIT IN ROLE fettle_service;
         EXCEPTION WHEN duplicate_object OR unique_violation THEN NULL; END $$",
    );
    let runtime = Runtime::new().unwrap();
    let first = node(&place, "first", &[]);
    done(
        Shop::At(&first.url),
        &["start", "--kit", "big-small", "--yes"],
    );
    let second = Fettled::serve_from(&place.url("bench_too"), &place.path("second"), &[]);
    first.pause();
    sleep(SILENT + CONFIRM_EVERY);
    assert_eq!(health(&runtime, &second), ServingStatus::NotServing);
    assert_eq!(place.ask("SELECT epoch FROM fettle.book"), "1");
    first.signal("CONT");
    until_acknowledged(&runtime, &first, Instant::now());
    let killed = Instant::now();
    first.kill();
    let took = until_acknowledged(&runtime, &second, killed);
    assert!(took < SILENT, "{took:?}");
}

#[test]
fn two_processes_do_not_share_the_folder_of_a_node() {
    let Some(place) = Place::new() else { return };
    let _first = node(&place, "first", &[]);
    let folder = place.path("first");
    let words = [
        "--listen",
        "127.0.0.1:0",
        "--node",
        folder.to_str().unwrap(),
    ];
    let output = fettled(&place.url("bench"), &words);
    assert_eq!(output.status.code(), Some(5));
    let said = refused(&output);
    assert!(
        said.contains("is in use by another fettled. Give each its own folder with --node"),
        "{said}"
    );
}

/// A node that devices reach at two addresses, its own first.
fn sealed_node(place: &Place, name: &str, own: &str, other: &str) -> Fettled {
    let reached = format!("{own},{other}");
    node(
        place,
        name,
        &["--tls", "--listen", own, "--reached-at", &reached],
    )
}

fn seal(place: &Place, from: &str, to: &str) {
    fs::create_dir_all(place.path(to)).unwrap();
    let key = |name: &str| place.path(name).join("seal.key");
    fs::copy(key(from), key(to)).unwrap();
}

/// A code for a device that owns the shop, unless further options say otherwise.
pub(crate) fn code(place: &Place, node: &Path, name: &str, options: &[&str]) -> String {
    let node = node.to_str().unwrap();
    let words = ["pair", "--node", node, "--name", name];
    let role: &[&str] = match options.contains(&"--role") {
        true => &[],
        false => &["--role", "own"],
    };
    let said = succeeded(&fettled(
        &place.url("bench"),
        &[&words, role, options].concat(),
    ));
    let mut words = said.split_whitespace();
    let code = words.find(|word| word.starts_with("FETTLE:"));
    code.unwrap_or_else(|| panic!("no code in {said}"))
        .to_owned()
}

#[test]
fn a_device_of_two_addresses_logs_through_a_kill_a_pause_and_a_stop_and_all_counts_once() {
    let Some(place) = Place::new() else { return };
    let (one, two) = (free(), free());
    let first = sealed_node(&place, "first", &one, &two);
    seal(&place, "first", "second");
    let second = sealed_node(&place, "second", &two, &one);
    let home = tempfile::tempdir().unwrap();
    let van = Shop::Paired(home.path());
    // The code is made beside the node that waits, and has its address; pairing goes to the other.
    done(
        van,
        &[
            "shop",
            "pair",
            &code(&place, &place.path("second"), "van-a", &[]),
        ],
    );
    done(van, &["start", "--kit", "big-small", "--yes"]);
    let places = |way: &serde_json::Value| way["addresses"].as_array().unwrap().clone();
    let way = json(van, &["shop", "where"]);
    assert_eq!(places(&way), [one.as_str(), two.as_str()], "{way}");

    let mut count = 0;
    let mut wash = |until: &mut dyn FnMut() -> bool| {
        let start = Instant::now();
        loop {
            done(van, &["wash", "P-01"]);
            count += 1;
            if until() {
                return;
            }
            assert!(
                start.elapsed() < 2 * TAKEN_OVER_MAX,
                "the shop is not reached again"
            );
        }
    };
    let reached = |at: &str| {
        let way = json(van, &["shop", "where"]);
        way["reached"] == true && places(&way)[0] == *at
    };
    wash(&mut || true);
    first.kill();
    wash(&mut || reached(&two));

    let first = sealed_node(&place, "first", &one, &two);
    second.pause();
    wash(&mut || reached(&one));
    second.signal("CONT");
    wash(&mut || true);

    // The second waits by now, and is the one that is left.
    first.stop();
    wash(&mut || reached(&two));
    done(van, &["shop", "sync"]);
    let listed = json(van, &["book", "entries", "--about", "P-01"]);
    let listed = listed["entries"].as_array().unwrap();
    let washed: Vec<&serde_json::Value> = listed
        .iter()
        .filter(|entry| entry["deeds"][0]["kind"] == "DEED_KIND_WASHED")
        .collect();
    let each: BTreeSet<&str> = washed
        .iter()
        .map(|entry| entry["requestId"].as_str().unwrap())
        .collect();
    assert_eq!((washed.len(), each.len()), (count, count));
    drop(second);

    // Nobody has it: what happens is kept, and it is said why the shop is out of reach.
    let out = fettle(van, &["wash", "P-02"]);
    assert!(out.status.success(), "{out:?}");
    let way = json(van, &["shop", "where"]);
    assert_eq!(way["reached"], false, "{way}");
    let first = sealed_node(&place, "first", &one, &two);
    done(van, &["shop", "sync"]);
    assert!(reached(&one));
    first.stop();
}
