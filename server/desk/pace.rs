//! How long the writer waits for company before a sync.
//!
//! It serves throughput when many call at once. A lone caller must never wait for it.

use std::time::{Duration, Instant};

use crate::limits::GATHER_SHARE;

/// How long to wait for company before a sync.
///
/// Callers that were answered together come back at about the same time. Syncing for the first of
/// them alone would make all others wait a whole sync more. So the writer waits for as many as were
/// answered last and those who came meanwhile, but once nobody has come for a small share of what a
/// sync costs, it waits no longer.
#[derive(Default)]
pub(super) struct Pace {
    caller_count: usize,
    sync: Duration,
}

impl Pace {
    /// Learns from a sync that began at `start`: how many were answered by it or wait now.
    pub(super) fn learn(&mut self, caller_count: usize, start: Instant) {
        self.caller_count = caller_count;
        self.sync = start.elapsed();
    }

    /// True while more are likely to come soon: the last came at `since`.
    pub(super) fn expects_more(&self, group_count: usize, since: Instant) -> bool {
        group_count < self.caller_count && since.elapsed() < self.sync / GATHER_SHARE
    }
}
