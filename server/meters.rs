//! What is measured while the service works: counters and histograms that whoever does the work fills.
//!
//! It serves the desk, the edge and the listener, and whoever looks at a running service. Measuring
//! costs a few atomics or a lock held for nanoseconds. Every label has few values, all of them ours:
//! what a caller wrote must never become one, or callers could fill the memory.

mod log_limit;
mod request;
#[cfg(test)]
mod tests;

use std::sync::Arc;
use std::time::Duration;

use prometheus_client::encoding::EncodeLabelSet;
use prometheus_client::metrics::counter::Counter;
use prometheus_client::metrics::family::Family;
use prometheus_client::metrics::gauge::Gauge;
use prometheus_client::metrics::histogram::Histogram;
use prometheus_client::metrics::info::Info;
use prometheus_client::registry::{Registry, Unit};

pub use log_limit::LogLimit;
pub use request::RequestMeter;

/// Upper bounds of the times of requests and of syncs, s: from an answer out of memory to the longest
/// time a request may take.
const TIME_BOUNDS_S: [f64; 14] = [
    0.0001, 0.00025, 0.0005, 0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 1.0, 10.0, 120.0,
];

/// Upper bounds of the number of entries that share a sync.
const GROUP_BOUNDS: [f64; 9] = [1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0, 128.0, 256.0];

/// A histogram of times.
fn times() -> Histogram {
    Histogram::new(TIME_BOUNDS_S)
}

#[derive(Debug, Clone, PartialEq, Eq, Hash, EncodeLabelSet)]
struct MethodLabel {
    method: &'static str,
}

#[derive(Debug, Clone, PartialEq, Eq, Hash, EncodeLabelSet)]
struct AnswerLabels {
    method: &'static str,
    code: &'static str,
}

#[derive(Debug, Clone, PartialEq, Eq, Hash, EncodeLabelSet)]
struct ReasonLabel {
    reason: &'static str,
}

#[derive(Debug)]
struct Families {
    commit: &'static str,
    answers: Family<AnswerLabels, Counter>,
    request_time: Family<MethodLabel, Histogram, fn() -> Histogram>,
    in_flight: Gauge,
    refusals: Family<ReasonLabel, Counter>,
    sync_time: Histogram,
    group_entries: Histogram,
    connections: Gauge,
    watches: Gauge,
    log_limit: LogLimit,
}

/// The meters of one service. Clones share them.
#[derive(Debug, Clone)]
pub struct Meters(Arc<Families>);

impl Default for Meters {
    fn default() -> Self {
        Self::of_build("unknown")
    }
}

impl Meters {
    /// Those of a program that is built from this commit.
    pub fn of_build(commit: &'static str) -> Self {
        Self(Arc::new(Families {
            commit,
            answers: Family::default(),
            request_time: Family::new_with_constructor(times),
            in_flight: Gauge::default(),
            refusals: Family::default(),
            sync_time: times(),
            group_entries: Histogram::new(GROUP_BOUNDS),
            connections: Gauge::default(),
            watches: Gauge::default(),
            log_limit: LogLimit::default(),
        }))
    }

    /// The commit that the program is built from.
    pub fn commit(&self) -> &'static str {
        self.0.commit
    }

    /// Counts a request in, until its meter is told how it ended. The method is one that the service
    /// knows, or `other`.
    pub fn request(&self, method: &'static str) -> RequestMeter {
        RequestMeter::new(self.clone(), method)
    }

    /// Counts a group of so many entries that became durable within this time.
    pub fn synced(&self, entry_count: usize, took: Duration) {
        self.0.sync_time.observe(took.as_secs_f64());
        let entry_count = u32::try_from(entry_count).unwrap_or(u32::MAX);
        self.0.group_entries.observe(f64::from(entry_count));
    }

    /// Counts a connection, until what this gives is dropped.
    pub fn connection(&self) -> Open {
        Open::new(&self.0.connections)
    }

    /// Which log lines about those who are refused are written.
    pub fn log_limit(&self) -> &LogLimit {
        &self.0.log_limit
    }

    /// Counts a watch, until what this gives is dropped.
    pub fn watch(&self) -> Open {
        Open::new(&self.0.watches)
    }

    /// Makes everything readable under its name.
    pub fn register(&self, registry: &mut Registry) {
        let all = &self.0;
        let build = [
            ("version", env!("CARGO_PKG_VERSION")),
            ("commit", all.commit),
        ];
        registry.register("build", "Which fettled this is", Info::new(build.to_vec()));
        registry.register(
            "requests",
            "Requests that were answered, by method and gRPC code",
            all.answers.clone(),
        );
        registry.register_with_unit(
            "request_duration",
            "Time from a request to its answer, or to the first of many",
            Unit::Seconds,
            all.request_time.clone(),
        );
        registry.register(
            "requests_in_flight",
            "Requests that are being answered, streams that go on among them",
            all.in_flight.clone(),
        );
        registry.register(
            "refusals",
            "Requests that were refused or failed, by the reason in their ErrorInfo",
            all.refusals.clone(),
        );
        registry.register_with_unit(
            "journal_sync_duration",
            "Time to write a group of entries to the journal and sync it",
            Unit::Seconds,
            all.sync_time.clone(),
        );
        registry.register(
            "journal_group_entries",
            "Entries that became durable with one sync",
            all.group_entries.clone(),
        );
        registry.register(
            "connections_open",
            "Connections that are open",
            all.connections.clone(),
        );
        registry.register(
            "watches_open",
            "Watches of the book that are open",
            all.watches.clone(),
        );
    }
}

/// One more of something, until it is dropped.
#[derive(Debug)]
pub struct Open(Gauge);

impl Open {
    fn new(gauge: &Gauge) -> Self {
        gauge.inc();
        Self(gauge.clone())
    }
}

impl Drop for Open {
    fn drop(&mut self) {
        self.0.dec();
    }
}
