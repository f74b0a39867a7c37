//! How long the writer waits for company before a sync.
//!
//! It serves throughput when many call at once. A lone caller must never wait for it.

use std::time::{Duration, Instant};

use crate::limits::GATHER_SHARE;

/// How long to wait for company before a sync.
///
/// Callers that were answered together come back at about the same time. Syncing for the first of
/// them alone would make all others wait a whole sync more, so the writer waits for as many as the
/// last group held, but for no more than a small share of what a sync costs.
#[derive(Default)]
pub(super) struct Pace {
    group_count: usize,
    sync: Duration,
}

impl Pace {
    /// Learns from a group: how many it held, and how long its sync took.
    pub(super) fn learn(&mut self, group_count: usize, start: Instant) {
        self.group_count = group_count;
        self.sync = start.elapsed();
    }

    /// True while more are likely to come soon.
    pub(super) fn expects_more(&self, group_count: usize, start: Instant) -> bool {
        group_count < self.group_count && start.elapsed() < self.sync / GATHER_SHARE
    }
}
