//! How long the writer waits for company before a sync.
//!
//! It serves throughput when many call at once. A lone caller must never wait for it.

use std::time::{Duration, Instant};

use crate::limits::{GATHER_SHARE, GROUP_COUNT_MAX};

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

    /// How many are likely to share the next sync.
    pub(super) fn expected_count(&self) -> usize {
        self.caller_count.min(GROUP_COUNT_MAX)
    }

    /// How many more a group of so many that has waited so long should wait for, and how long; nothing once it should
    /// wait no more.
    pub(super) fn left(&self, group_count: usize, waited: Duration) -> Option<(usize, Duration)> {
        let count = self.caller_count.checked_sub(group_count)?;
        let longest = (self.sync / GATHER_SHARE).checked_sub(waited)?;
        (count > 0 && !longest.is_zero()).then_some((count, longest))
    }
}
