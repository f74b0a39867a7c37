//! Many books on a node, with the real binaries: each opened when a token names it, let go when nobody uses it or
//! another wants its place, and given back when the node stops.

use std::fs;
use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::{Duration, Instant};

use fettlebook_contract::v1;
use fettlebook_contract::v1::book_service_client::BookServiceClient;
use fettlebook_contract::v1::kit_service_client::KitServiceClient;
use tokio::runtime::Runtime;
use tonic::metadata::{Ascii, MetadataValue};
use tonic::transport::{Channel, Endpoint};
use tonic::{Code, Request, Status, Streaming};
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
        Self::of_books((0..count).map(|_| Uuid::now_v7()).collect())
    }

    /// With these books.
    fn of_books(books: Vec<Uuid>) -> Option<Self> {
        let place = Place::new()?;
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

    /// The same, which tells metrics at the URL given beside.
    fn measured_node(&self, name: &str, options: &[&str]) -> (Fettled, String) {
        Fettled::serve_from_measured(&self.place.url("bench"), &self.path(name), options)
    }

    /// Watches a book there, from now on.
    fn watch(&self, node: &Fettled, book: Uuid) -> Streaming<v1::WatchEntriesResponse> {
        self.runtime.block_on(async {
            let mut books = BookServiceClient::new(channel(node).await);
            let request = asked(Some(book), v1::WatchEntriesRequest::default());
            books.watch_entries(request).await.unwrap().into_inner()
        })
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
    let (node, metrics) = world.measured_node("node", &[]);
    let figure = |name: &str| page_figure(&metrics, name);
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
        println!("it was recorded beside them in {:?}", start.elapsed());
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
    // A look for each would take one second each.
    assert!(took < WAIT_MAX, "{took:?}");
    // The engine tells of its figures a moment later.
    sleep(Duration::from_secs(2));
    let after: i64 = world.place.ask(scans).parse().unwrap();
    let (read, within) = (after - before, start.elapsed());
    println!("the table of books was read {read} times in {within:?}");
    // Some times a second by the node itself, whoever asks.
    let own = 8 * (i64::try_from(within.as_secs()).unwrap() + 1);
    assert!(read < own, "{read} of {own}");
}

#[test]
fn a_book_that_nobody_uses_is_let_go_and_opened_again_and_a_watch_keeps_it() {
    let Some(world) = World::with(3) else { return };
    let [idle, watched, _] = world.books[..] else {
        panic!()
    };
    let node = world.node("node", &["--let-go-after", "1s"]);
    world.record(&node, Some(idle)).unwrap();
    let _watch = world.watch(&node, watched);
    assert_eq!(world.of(idle, "epoch"), "1");
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
    // So that it was used before the other, whenever its answer was let go of.
    sleep(Duration::from_millis(200));
    world.record(&node, Some(second)).unwrap();
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
    let _in_use = [third, fourth].map(|book| world.watch(&node, book));
    sleep(SPARED + Duration::from_millis(200));
    let told = world.record(&node, Some(second)).unwrap_err();
    assert_eq!(reason(&told), "BUSY");
    assert!(told.message().contains("--open-books"), "{told}");
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

/// Requests of the burst, from each of so many connections.
const BURST: (usize, usize) = (8, 200);

/// Most requests for one book that are under way. Source: `BOOK_ASKS_MAX`.
const UNDER_WAY_MAX: usize = 512;

#[test]
fn a_burst_for_one_book_is_bounded_and_leaves_the_others_their_turn() {
    // The engine does not finish a group of the one, and the other is written on another session: by their ids.
    let ids = [0, 1].map(|lane| Uuid::from_u128((Uuid::now_v7().as_u128() & !3) | lane));
    let [loud, quiet] = ids;
    let Some(world) = World::of_books(ids.to_vec()) else {
        return;
    };
    let node = world.node("node", &[]);
    world.record(&node, Some(loud)).unwrap();
    world.record(&node, Some(quiet)).unwrap();
    let held_up = world.place.engine.session(&world.place.database);
    let row = format!("BEGIN; SELECT 1 FROM fettle.book WHERE id = '{loud}' FOR UPDATE");
    drop(held_up.ask(&row));
    let (connections, requests) = BURST;
    let refused_count = connections * requests - UNDER_WAY_MAX;
    let recorded = world.runtime.block_on(async {
        let to = channel(&node).await;
        let mut burst = tokio::task::JoinSet::new();
        for _ in 0..connections {
            let to = channel(&node).await;
            for _ in 0..requests {
                let to = to.clone();
                burst.spawn(async move { record(to, Some(loud), Uuid::now_v7()).await });
            }
        }
        for _ in 0..refused_count {
            let told = burst.join_next().await.unwrap().unwrap().unwrap_err();
            assert_eq!(reason(&told), "BUSY");
            assert!(
                told.message().contains("Too much is asked of this book"),
                "{told}"
            );
        }
        let asked = Instant::now();
        assert_eq!(record(to, Some(quiet), Uuid::now_v7()).await.unwrap(), 2);
        println!("{:?} beside {UNDER_WAY_MAX} that wait", asked.elapsed());
        drop(held_up.ask("COMMIT"));
        burst.join_all().await
    });
    let mut seqs: Vec<i64> = recorded.into_iter().map(Result::unwrap).collect();
    seqs.sort_unstable();
    let last = 1 + i64::try_from(UNDER_WAY_MAX).unwrap();
    assert_eq!(seqs, (2..=last).collect::<Vec<i64>>());
}

/// The last entry in the newest backup of a book, and when that was made; none where there is no backup.
fn backed_up(into: &Path) -> Option<(u64, jiff::Timestamp)> {
    let made = fs::read_dir(into).ok()?.flatten();
    let files = made.map(|one| one.path().join("backup.json"));
    let newest = files.filter(|file| file.exists()).max()?;
    let told: serde_json::Value = serde_json::from_slice(&fs::read(newest).unwrap()).unwrap();
    let made = told["made_time"].as_str().unwrap().parse().unwrap();
    Some((told["head"]["seq"].as_u64().unwrap(), made))
}

#[test]
fn what_was_done_in_a_book_that_was_let_go_is_in_a_backup_in_time_and_only_once() {
    let Some(world) = World::with(2) else { return };
    let [book, untouched] = world.books[..] else {
        panic!()
    };
    let into = world.path("backups");
    let to = into.to_str().unwrap();
    let every = Duration::from_secs(3);
    let options = [
        "--let-go-after",
        "1s",
        "--backup-to",
        to,
        "--backup-every",
        "3s",
    ];
    let (node, metrics) = world.measured_node("node", &options);
    world.record(&node, Some(book)).unwrap();
    let of_book = into.join(book.to_string());
    until("it is backed up while it is open", || {
        backed_up(&of_book).is_some()
    });
    let (_, first) = backed_up(&of_book).unwrap();
    assert_eq!(world.record(&node, Some(book)).unwrap(), 2);
    let is_closed = || world.of(book, "holder IS NULL") == "t";
    until("it is let go", is_closed);
    until("the rest is in a backup too", || {
        backed_up(&of_book).is_some_and(|(seq, _)| seq == 2)
    });
    let (_, second) = backed_up(&of_book).unwrap();
    // No sooner than asked for: of those that are kept the oldest goes.
    let between = Duration::try_from(second.duration_since(first)).unwrap();
    assert!(between >= every, "{between:?}");
    until("it is let go again", is_closed);
    // They count though the book is closed.
    assert!(page_figure(&metrics, "fettled_backups_total") >= 2.0);
    // Nothing was recorded since.
    let epoch = world.of(book, "epoch");
    sleep(2 * every);
    assert_eq!(world.of(book, "epoch"), epoch);
    assert_eq!(world.of(untouched, "epoch"), "0");
    // What is due after a start is made then, by another node too, but by none that has it less often.
    assert_eq!(world.record(&node, Some(book)).unwrap(), 3);
    node.kill();
    let serve = |name: &str, every: &str| {
        let into = world.path(&format!("backups-{name}"));
        let to = into.to_str().unwrap();
        let node = world.node(name, &["--backup-to", to, "--backup-every", every]);
        (node, into.join(book.to_string()))
    };
    let (_patient, not_yet) = serve("patient", "1d");
    let (_other, of_other) = serve("other", "1s");
    until("another backs it up", || {
        backed_up(&of_other).is_some_and(|(seq, _)| seq == 3)
    });
    assert_eq!(backed_up(&not_yet), None);
    // Nobody uses it there: it does not take a place for five minutes.
    until("it is let go there too", is_closed);
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
