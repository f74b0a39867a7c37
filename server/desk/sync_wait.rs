//! How long the writer waits for company before a sync.
//!
//! It serves throughput when many call at once. A lone caller must never wait for it.

use std::time::{Duration, Instant};

use crate::limits::GATHER_SHARE;

/// How long to wait for company before a sync.
///
/// Callers that were answered together come back at about the same time. Syncing for the first of
/// them alone would make all others wait a whole sync more. So the writer waits for as many as were
/// answered last and those who came meanwhile, but in all no longer than a small share of what a sync
/// costs.
#[derive(Default)]
pub(super) struct SyncWait {
    caller_count: usize,
    sync: Duration,
}

impl SyncWait {
    /// Learns from a sync that began at `start`: how many were answered by it or wait now.
    pub(super) fn learn(&mut self, caller_count: usize, start: Instant) {
        self.caller_count = caller_count;
        self.sync = start.elapsed();
    }

    /// True while a group of so many that has waited so long should wait for more.
    pub(super) fn expects_more(&self, group_count: usize, waited: Duration) -> bool {
        group_count < self.caller_count && waited < self.sync / GATHER_SHARE
    }
}
