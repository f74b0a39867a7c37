//! Callers that read nine times and write once, over and over, while the memory of the service is
//! looked at.
//!
//! It serves the soak and its quick form in the tests. What is written keeps the state of the book
//! the same size: washes, weigh-ins and counts of the same few pieces. A caller that is turned away
//! comes again, with the same request id, when it was told to.

use std::collections::BTreeMap;
use std::fmt;
use std::time::{Duration, Instant};

use fettlebook_contract::v1;
use fettlebook_contract::v1::book_service_client::BookServiceClient;
use fettlebook_contract::v1::job_service_client::JobServiceClient;
use fettlebook_contract::v1::kit_service_client::KitServiceClient;
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use tonic::transport::Channel;
use tonic::{Code, Status};
use tonic_types::StatusExt as _;

use crate::fettled::{Fettled, connect};
use crate::shop::{self, BOTTLE_COUNT, PAD_COUNT, fresh, tag};

/// One request in so many writes.
const WRITE_ONE_IN: u32 = 10;
/// One read in so many checks the booked job, which costs more than all other reads.
const CHECK_ONE_IN: u32 = 4;

/// What the shelf's cache keeps of an entry that is written, bytes, until the cache is full. Measured:
/// 210 with the release build.
const CACHED_BYTES_PER_ENTRY: u64 = 256;
/// The cache's own bound, as `limits.rs` sets it, kB.
const CACHE_KB_MAX: u64 = 64 * 1024;

/// How long how many call, and how much the memory may grow from the half to the end.
pub(crate) struct Plan {
    pub(crate) callers: u64,
    pub(crate) time: Duration,
    pub(crate) growth_percent_max: u64,
}

/// What came of it.
pub(crate) struct Outcome {
    took: Duration,
    reads: u64,
    writes: u64,
    turned_away: u64,
    /// Errors other than being turned away, by code.
    errors: BTreeMap<String, u64>,
    /// Resident memory of the service after each quarter, kB; empty where the system does not tell.
    memory_kb: Vec<u64>,
    /// The same after it was started again on the same book: what the book itself needs.
    restarted_kb: Option<u64>,
    growth_percent_max: u64,
}

impl Outcome {
    /// Requests that were answered.
    pub(crate) fn answered(&self) -> u64 {
        self.reads + self.writes
    }

    /// What was not as it should be.
    pub(crate) fn broken(&self) -> Option<String> {
        if !self.errors.is_empty() {
            return Some(format!("errors came: {:?}", self.errors));
        }
        if self.reads == 0 || self.writes == 0 {
            return Some("nothing was done".to_owned());
        }
        let [_, half, _, end] = self.memory_kb[..] else {
            return None;
        };
        // Half of the writes fell in the second half.
        let cached_kb = (self.writes / 2 * CACHED_BYTES_PER_ENTRY / 1024).min(CACHE_KB_MAX);
        let allowed = half * (100 + self.growth_percent_max) / 100 + cached_kb;
        if end > allowed {
            return Some(format!(
                "memory grew from {half} kB to {end} kB; {allowed} kB are allowed"
            ));
        }
        let restarted = self.restarted_kb?;
        (restarted > half).then(|| format!("the book alone needs {restarted} kB"))
    }
}

impl fmt::Display for Outcome {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let rate = self.answered() as f64 / self.took.as_secs_f64();
        writeln!(
            f,
            "{} requests in {:.1} s, {rate:.0} per second: {} reads, {} writes",
            self.answered(),
            self.took.as_secs_f64(),
            self.reads,
            self.writes
        )?;
        writeln!(
            f,
            "turned away {}, other errors {:?}",
            self.turned_away, self.errors
        )?;
        write!(
            f,
            "resident memory after each quarter, kB: {:?}; started again: {:?}",
            self.memory_kb, self.restarted_kb
        )
    }
}

/// Serves a new book with a `fettled` of its own and lets callers at it.
pub(crate) async fn run(plan: &Plan) -> Outcome {
    let folder = tempfile::tempdir().unwrap();
    let mut fettled = Fettled::start(&folder.path().join("book"));
    let url = fettled.url().unwrap();
    shop::stock(&connect(&url).await.unwrap()).await;
    let start = Instant::now();
    let callers: Vec<_> = (0..plan.callers)
        .map(|seed| tokio::spawn(work(url.clone(), seed, start + plan.time)))
        .collect();
    let mut memory_kb = Vec::new();
    for quarter in 1..=4 {
        let at = start + plan.time * quarter / 4;
        tokio::time::sleep_until(at.into()).await;
        memory_kb.extend(resident_kb(fettled.process()));
    }
    let mut outcome = Outcome {
        took: start.elapsed(),
        reads: 0,
        writes: 0,
        turned_away: 0,
        errors: BTreeMap::new(),
        memory_kb,
        restarted_kb: None,
        growth_percent_max: plan.growth_percent_max,
    };
    for caller in callers {
        let done = caller.await.unwrap();
        outcome.reads += done.reads;
        outcome.writes += done.writes;
        outcome.turned_away += done.turned_away;
        for (code, count) in done.errors {
            *outcome.errors.entry(code).or_default() += count;
        }
    }
    assert!(fettled.stop(), "fettled did not end well");
    let mut again = Fettled::start(&folder.path().join("book"));
    again.url().unwrap();
    outcome.restarted_kb = resident_kb(again.process());
    outcome
}

/// What one caller did.
#[derive(Default)]
struct Done {
    reads: u64,
    writes: u64,
    turned_away: u64,
    errors: BTreeMap<String, u64>,
}

async fn work(url: String, seed: u64, end: Instant) -> Done {
    let channel = connect(&url).await.unwrap();
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut done = Done::default();
    while Instant::now() < end {
        let writes = rng.random_ratio(1, WRITE_ONE_IN);
        let ended = if writes {
            write(&channel, &mut rng, &mut done).await
        } else {
            read(&channel, &mut rng).await
        };
        match ended {
            Ok(()) if writes => done.writes += 1,
            Ok(()) => done.reads += 1,
            Err(status) => {
                let told = format!("{:?}: {}", status.code(), status.message());
                *done.errors.entry(told).or_default() += 1;
            }
        }
    }
    done
}

async fn read(channel: &Channel, rng: &mut ChaCha8Rng) -> Result<(), Status> {
    if rng.random_ratio(1, CHECK_ONE_IN) {
        let mut jobs = JobServiceClient::new(channel.clone());
        let jobs = jobs.check_jobs(v1::CheckJobsRequest::default());
        return jobs.await.map(drop);
    }
    let mut book = BookServiceClient::new(channel.clone());
    match rng.random_range(0..3) {
        0 => book.get_book(v1::GetBookRequest::default()).await.map(drop),
        1 => {
            let seq = rng.random_range(1..=12);
            book.get_entry(v1::GetEntryRequest { seq }).await.map(drop)
        }
        _ => {
            let page = v1::ListPiecesRequest {
                page_size: 20,
                ..Default::default()
            };
            let mut kit = KitServiceClient::new(channel.clone());
            kit.list_pieces(page).await.map(drop)
        }
    }
}

/// Writes, and comes again with the same request id as often as it is turned away.
async fn write(channel: &Channel, rng: &mut ChaCha8Rng, done: &mut Done) -> Result<(), Status> {
    let write = Write::any(rng);
    loop {
        let status = match write.send(channel).await {
            Ok(()) => return Ok(()),
            Err(status) => status,
        };
        let hint = status
            .get_details_retry_info()
            .and_then(|info| info.retry_delay);
        let (Code::ResourceExhausted, Some(wait)) = (status.code(), hint) else {
            return Err(status);
        };
        done.turned_away += 1;
        tokio::time::sleep(wait.mul_f64(rng.random_range(1.0..2.0))).await;
    }
}

/// What is written: nothing that makes the book's state grow.
enum Write {
    Wash(v1::WashKitRequest),
    Weigh(v1::WeighBottlesRequest),
    Count(v1::CountKitRequest),
}

impl Write {
    fn any(rng: &mut ChaCha8Rng) -> Self {
        let request_id = fresh();
        match rng.random_range(0..3) {
            0 => Self::Wash(v1::WashKitRequest {
                request_id,
                tags: vec![tag("P", rng.random_range(1..=PAD_COUNT))],
                ..Default::default()
            }),
            1 => Self::Weigh(v1::WeighBottlesRequest {
                request_id,
                weighings: vec![v1::Weighing {
                    bottle: tag("B", rng.random_range(1..=BOTTLE_COUNT)),
                    gross_mg: rng.random_range(100_000..900_000),
                }],
                ..Default::default()
            }),
            _ => Self::Count(v1::CountKitRequest {
                request_id,
                tag: tag("S", 1),
                quantity: Some(rng.random_range(0..50)),
                ..Default::default()
            }),
        }
    }

    async fn send(&self, channel: &Channel) -> Result<(), Status> {
        let mut kit = KitServiceClient::new(channel.clone());
        match self {
            Self::Wash(request) => kit.wash_kit(request.clone()).await.map(drop),
            Self::Weigh(request) => kit.weigh_bottles(request.clone()).await.map(drop),
            Self::Count(request) => kit.count_kit(request.clone()).await.map(drop),
        }
    }
}

/// Resident memory of a process, kB. Source: proc_pid_status(5), VmRSS.
fn resident_kb(process: u32) -> Option<u64> {
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    let line = status
        .lines()
        .find_map(|line| line.strip_prefix("VmRSS:"))?;
    line.split_whitespace().next()?.parse().ok()
}
