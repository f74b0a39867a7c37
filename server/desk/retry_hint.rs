//! When a caller that was turned away should come again.
//!
//! It serves the hint that goes with a full queue. It is a guess from what the last sync took, and
//! always within bounds: nobody is sent away for long on a guess.

use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

use crate::limits::{GROUP_COUNT_MAX, RETRY_AFTER_MAX, RETRY_AFTER_MIN};

/// What the last group took to become durable, µs.
#[derive(Debug, Default)]
pub(super) struct RetryHint(AtomicU64);

impl RetryHint {
    /// Learns from a group that became durable.
    pub(super) fn learn(&self, took: Duration) {
        let took_us = u64::try_from(took.as_micros()).unwrap_or(u64::MAX);
        self.0.store(took_us, Ordering::Relaxed);
    }

    /// When so many waiting orders should be written, in groups as large as they may be, and the
    /// one that is being written now.
    pub(super) fn retry_after(&self, waiting: usize) -> Duration {
        let took = Duration::from_micros(self.0.load(Ordering::Relaxed));
        let group_count = waiting.div_ceil(GROUP_COUNT_MAX).saturating_add(1);
        let group_count = u32::try_from(group_count).unwrap_or(u32::MAX);
        took.saturating_mul(group_count)
            .clamp(RETRY_AFTER_MIN, RETRY_AFTER_MAX)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_more_wait_and_the_slower_the_disk_the_later_to_come_again() {
        let retry_hint = RetryHint::default();
        assert_eq!(
            retry_hint.retry_after(1024),
            RETRY_AFTER_MIN,
            "nothing is known yet"
        );
        retry_hint.learn(Duration::from_millis(20));
        assert_eq!(retry_hint.retry_after(1), Duration::from_millis(40));
        assert_eq!(
            retry_hint.retry_after(4 * GROUP_COUNT_MAX),
            Duration::from_millis(100)
        );
        retry_hint.learn(Duration::from_secs(3600));
        assert_eq!(retry_hint.retry_after(1), RETRY_AFTER_MAX);
    }
}
