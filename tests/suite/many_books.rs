//! Many books on a node, with the real binaries: each opened when a token names it, let go when nobody uses it or
//! another wants its place, and given back when the node stops.

use std::path::PathBuf;
use std::thread::sleep;
use std::time::{Duration, Instant};

use fettlebook_contract::v1;
use fettlebook_contract::v1::book_service_client::BookServiceClient;
use fettlebook_contract::v1::kit_service_client::KitServiceClient;
use tokio::runtime::Runtime;
use tonic::metadata::{Ascii, MetadataValue};
use tonic::transport::{Channel, Endpoint};
use tonic::{Code, Request, Status};
use tonic_health::pb::HealthCheckRequest;
use tonic_health::pb::health_check_response::ServingStatus;
use tonic_health::pb::health_client::HealthClient;
use tonic_types::StatusExt as _;
use uuid::Uuid;

use crate::binaries::Fettled;
use crate::in_engine::Place;
use crate::metrics::page_figure;

/// Longest time until something that is to happen by itself has.
const WAIT_MAX: Duration = Duration::from_secs(20);

/// Longest time in which a book that nobody has is opened and answers. Source: the design, "Held to".
const COLD_ANSWER_MAX: Duration = Duration::from_millis(200);

/// How long a book is spared that was just asked for. Source: `BOOK_SPARED_FOR`.
const SPARED: Duration = Duration::from_secs(3);

/// An engine with empty books, and whoever asks for them.
pub(crate) struct World {
    pub(crate) place: Place,
    pub(crate) runtime: Runtime,
    pub(crate) books: Vec<Uuid>,
}

impl World {
    /// With so many books; none where the machine has no PostgreSQL.
    pub(crate) fn with(count: usize) -> Option<Self> {
        let place = Place::new()?;
        let books: Vec<Uuid> = (0..count).map(|_| Uuid::now_v7()).collect();
        for book in &books {
            let row = format!(
                "INSERT INTO fettle.book (id, incarnation) VALUES ('{book}', '{book}') RETURNING 1"
            );
            drop(place.ask(&row));
        }
        let runtime = Runtime::new().unwrap();
        Some(Self {
            place,
            runtime,
            books,
        })
    }

    /// A node with its own folder.
    pub(crate) fn node(&self, name: &str, options: &[&str]) -> Fettled {
        Fettled::serve_from(&self.place.url("bench"), &self.path(name), options)
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.place.path(name)
    }

    /// What stands of a book in a column of its row.
    pub(crate) fn of(&self, book: Uuid, column: &str) -> String {
        let row = format!("SELECT {column} FROM fettle.book WHERE id = '{book}'");
        self.place.ask(&row)
    }

    /// Asks a node for a book's kit; how many makes it has.
    pub(crate) fn makes(&self, node: &Fettled, book: Option<Uuid>) -> Result<usize, Status> {
        self.runtime.block_on(async {
            let mut kit = KitServiceClient::new(channel(node).await);
            let listed = kit.list_makes(asked(book, v1::ListMakesRequest::default()));
            Ok(listed.await?.into_inner().makes.len())
        })
    }

    /// Records a new make in a book.
    pub(crate) fn record(&self, node: &Fettled, book: Option<Uuid>) -> Result<i64, Status> {
        let recorded = async { record(channel(node).await, book, Uuid::now_v7()).await };
        self.runtime.block_on(recorded)
    }

    /// What a node says of its health by a name; nothing where it knows none.
    pub(crate) fn health(&self, node: &Fettled, name: &str) -> Option<ServingStatus> {
        let service = name.to_owned();
        self.runtime.block_on(async {
            let mut health = HealthClient::new(channel(node).await);
            match health.check(HealthCheckRequest { service }).await {
                Ok(said) => Some(said.into_inner().status()),
                Err(status) => {
                    assert_eq!(status.code(), Code::NotFound, "{status}");
                    None
                }
            }
        })
    }
}

/// Waits until something holds.
pub(crate) fn until(what: &str, mut holds: impl FnMut() -> bool) {
    let start = Instant::now();
    while !holds() {
        assert!(start.elapsed() < WAIT_MAX, "never: {what}");
        sleep(Duration::from_millis(50));
    }
}

pub(crate) async fn channel(node: &Fettled) -> Channel {
    let endpoint = Endpoint::from_shared(node.url.clone()).unwrap();
    endpoint.connect().await.unwrap()
}

/// A request that shows a token of a book; the node of these tests asks for no door, so that any is good.
pub(crate) fn asked<M>(book: Option<Uuid>, message: M) -> Request<M> {
    let mut request = Request::new(message);
    if let Some(book) = book {
        let (device, secret) = (Uuid::from_u128(7).simple(), "A".repeat(43));
        let token: MetadataValue<Ascii> = format!("Bearer {}.{device}.{secret}", book.simple())
            .parse()
            .unwrap();
        request.metadata_mut().insert("authorization", token);
    }
    request
}

pub(crate) async fn record(
    channel: Channel,
    book: Option<Uuid>,
    request_id: Uuid,
) -> Result<i64, Status> {
    let digits = request_id.simple().to_string();
    let car = v1::Car {
        car: format!("saloon-{}", &digits[digits.len() - 12..]),
        class: v1::CarClass::MediumSaloon.into(),
        ..v1::Car::default()
    };
    let create = v1::CreateCarRequest {
        request_id: request_id.to_string(),
        car: Some(car),
        ..v1::CreateCarRequest::default()
    };
    let mut jobs = v1::job_service_client::JobServiceClient::new(channel);
    let answer = jobs.create_car(asked(book, create)).await?.into_inner();
    Ok(answer.entry.unwrap_or_default().seq)
}

/// The reason in a refusal.
pub(crate) fn reason(status: &Status) -> String {
    let info = status.get_details_error_info();
    info.unwrap_or_else(|| panic!("{status:?}")).reason
}

#[test]
fn a_book_is_opened_when_a_token_names_it_and_no_other_is() {
    let Some(world) = World::with(3) else { return };
    let [first, second, third] = world.books[..] else {
        panic!()
    };
    let metrics = free();
    let node = world.node("node", &["--metrics", &metrics]);
    let figure = |name: &str| page_figure(&format!("http://{metrics}/metrics"), name);
    assert_eq!(world.health(&node, ""), Some(ServingStatus::Serving));
    assert_eq!(figure("fettled_books_held"), 0.0);

    // Whoever names none is told which there are.
    let told = world.makes(&node, None).unwrap_err();
    assert_eq!(reason(&told), "TOKEN_MISSING");
    for book in &world.books {
        assert!(told.message().contains(&book.to_string()), "{told}");
    }
    assert!(told.message().contains("--book-id ID"), "{told}");

    let start = Instant::now();
    assert_eq!(world.makes(&node, Some(first)).unwrap(), 0);
    println!("a book that nobody had answered in {:?}", start.elapsed());
    assert_eq!(world.record(&node, Some(first)).unwrap(), 1);
    assert_eq!(world.record(&node, Some(second)).unwrap(), 1);
    assert_eq!(world.record(&node, Some(first)).unwrap(), 2);
    let head = |book| world.of(book, "head_seq || ' ' || epoch");
    assert_eq!([first, second, third].map(head), ["2 1", "1 1", "0 0"]);

    let name = |book: Uuid| format!("book/{book}");
    until("health tells of both", || {
        [first, second]
            .iter()
            .all(|book| world.health(&node, &name(*book)) == Some(ServingStatus::Serving))
    });
    assert_eq!(world.health(&node, &name(third)), None);
    assert_eq!(figure("fettled_books_held"), 2.0);
    assert_eq!(figure("fettled_book_entries"), 3.0);
    assert_eq!(figure("fettled_books_opened_total"), 2.0);
    assert_eq!(figure("fettled_books_refused_total"), 1.0);
    until("the bytes of both are told", || {
        figure("fettled_journal_size_bytes") > 0.0
    });
}

/// A port of this machine where nobody listens.
fn free() -> String {
    let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    listener.local_addr().unwrap().to_string()
}

#[test]
fn who_names_books_that_are_not_there_is_refused_and_holds_up_nobody() {
    let Some(world) = World::with(2) else { return };
    let known = world.books[0];
    let node = world.node("node", &[]);
    world.record(&node, Some(known)).unwrap();
    // How often it is asked which books there are, as the engine counts it.
    let scans = "SELECT coalesce(seq_scan, 0) FROM pg_stat_user_tables WHERE relname = 'book'";
    let before: i64 = world.place.ask(scans).parse().unwrap();
    let start = Instant::now();
    let answers = world.runtime.block_on(async {
        let to = channel(&node).await;
        let mut strangers = tokio::task::JoinSet::new();
        for _ in 0..200 {
            let mut kit = KitServiceClient::new(to.clone());
            strangers.spawn(async move {
                let request = asked(Some(Uuid::now_v7()), v1::ListMakesRequest::default());
                kit.list_makes(request).await.unwrap_err()
            });
        }
        // Meanwhile the book that is there is served as ever.
        let start = Instant::now();
        record(to, Some(known), Uuid::now_v7()).await.unwrap();
        assert!(
            start.elapsed() < Duration::from_millis(500),
            "{:?}",
            start.elapsed()
        );
        strangers.join_all().await
    });
    let took = start.elapsed();
    for status in &answers {
        assert_eq!(
            (status.code(), reason(status).as_str()),
            (Code::Unauthenticated, "TOKEN_OTHER_BOOK")
        );
        assert!(
            status.message().contains("The token is for another book."),
            "{status}"
        );
    }
    assert!(took < Duration::from_secs(3), "{took:?}");
    // The engine tells of its figures a moment later.
    sleep(Duration::from_secs(2));
    let after: i64 = world.place.ask(scans).parse().unwrap();
    println!(
        "the table of books was read {} times in {took:?} and two seconds",
        after - before
    );
    assert!(after - before < 40, "{before} {after}");
}

#[test]
fn a_book_that_nobody_uses_is_let_go_and_opened_again_and_a_watch_keeps_it() {
    let Some(world) = World::with(3) else { return };
    let [idle, watched, _] = world.books[..] else {
        panic!()
    };
    let node = world.node("node", &["--let-go-after", "1s"]);
    world.record(&node, Some(idle)).unwrap();
    let _watch = world.runtime.block_on(async {
        let mut book = BookServiceClient::new(channel(&node).await);
        let request = asked(Some(watched), v1::WatchEntriesRequest::default());
        book.watch_entries(request).await.unwrap().into_inner()
    });
    assert_eq!(world.of(idle, "holder IS NULL"), "f");
    until("it is let go", || world.of(idle, "holder IS NULL") == "t");
    assert_eq!(world.of(watched, "holder IS NULL"), "f");
    let health = || world.health(&node, &format!("book/{idle}"));
    until("its health is forgotten", || health().is_none());

    let start = Instant::now();
    assert_eq!(world.record(&node, Some(idle)).unwrap(), 2);
    println!(
        "a book that was let go was open again in {:?}",
        start.elapsed()
    );
    assert!(
        start.elapsed() < COLD_ANSWER_MAX * 5,
        "{:?}",
        start.elapsed()
    );
    assert_eq!(world.of(idle, "epoch"), "2");
    assert_eq!(world.of(watched, "epoch"), "1");
}

#[test]
fn the_book_that_was_not_used_for_longest_makes_room_and_those_in_use_stay() {
    let Some(world) = World::with(4) else { return };
    let [first, second, third, fourth] = world.books[..] else {
        panic!()
    };
    let node = world.node("node", &["--open-books", "2"]);
    world.record(&node, Some(first)).unwrap();
    world.record(&node, Some(second)).unwrap();
    let told = world.record(&node, Some(third)).unwrap_err();
    assert_eq!(reason(&told), "BUSY");
    assert!(told.message().contains("--open-books"), "{told}");
    // Either may go now, and the first was not used for longer.
    sleep(SPARED + Duration::from_millis(200));
    assert_eq!(world.record(&node, Some(third)).unwrap(), 1);
    let held = |book| world.of(book, "holder IS NOT NULL");
    assert_eq!([first, second, third].map(held), ["f", "t", "t"]);
    assert_eq!(world.record(&node, Some(fourth)).unwrap(), 1);
    assert_eq!(
        [first, second, third, fourth].map(held),
        ["f", "f", "t", "t"]
    );
    let told = world.record(&node, Some(second)).unwrap_err();
    assert_eq!(reason(&told), "BUSY");
}

#[test]
fn several_who_ask_at_once_open_a_book_once() {
    let Some(world) = World::with(2) else { return };
    let book = world.books[1];
    let node = world.node("node", &[]);
    world.runtime.block_on(async {
        let mut asking = tokio::task::JoinSet::new();
        for _ in 0..16 {
            let to = channel(&node).await;
            asking.spawn(async move { record(to, Some(book), Uuid::now_v7()).await.unwrap() });
        }
        let mut seqs = asking.join_all().await;
        seqs.sort_unstable();
        assert_eq!(seqs, (1..=16).collect::<Vec<i64>>());
    });
    assert_eq!(world.of(book, "epoch"), "1");
}

#[test]
fn a_burst_for_one_book_is_bounded_and_leaves_the_others_their_turn() {
    let Some(world) = World::with(2) else { return };
    let [loud, quiet] = world.books[..] else {
        panic!()
    };
    let node = world.node("node", &[]);
    world.record(&node, Some(loud)).unwrap();
    world.record(&node, Some(quiet)).unwrap();
    let (beside, burst, refused) = world.runtime.block_on(async {
        let to = channel(&node).await;
        let start = Instant::now();
        let mut burst = tokio::task::JoinSet::new();
        for _ in 0..8 {
            let to = channel(&node).await;
            for _ in 0..200 {
                let to = to.clone();
                burst.spawn(async move { record(to, Some(loud), Uuid::now_v7()).await });
            }
        }
        sleep(Duration::from_millis(50));
        let asked = Instant::now();
        record(to, Some(quiet), Uuid::now_v7()).await.unwrap();
        let beside = asked.elapsed();
        let answers = burst.join_all().await;
        let refused = answers.iter().filter_map(|answer| answer.as_ref().err());
        let refused: Vec<_> = refused.map(reason).collect();
        (beside, start.elapsed(), refused)
    });
    let count = refused.len();
    println!("{beside:?} beside a burst of {burst:?}, of which {count} were told to come again");
    assert!(refused.iter().all(|reason| reason == "BUSY"), "{refused:?}");
    assert!(beside < burst, "{beside:?} of {burst:?}");
}

#[test]
fn a_node_that_stops_gives_all_books_back() {
    let Some(world) = World::with(12) else { return };
    let node = world.node("node", &[]);
    for book in &world.books {
        world.record(&node, Some(*book)).unwrap();
    }
    let held = "SELECT count(*) FROM fettle.book WHERE holder IS NOT NULL";
    assert_eq!(world.place.ask(held), "12");
    let start = Instant::now();
    node.stop();
    println!("twelve books were given back in {:?}", start.elapsed());
    assert_eq!(world.place.ask(held), "0");
}
