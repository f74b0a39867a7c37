//! What an engine was asked and what came of it, counted for whoever keeps the service running.

use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use super::trouble::Trouble;

/// How often the engine was asked something, and whether it answers.
#[derive(Debug, Default)]
pub(super) struct Counts {
    asked: AtomicU64,
    unknown: AtomicU64,
    settled: AtomicU64,
    opened: AtomicU64,
    answers: AtomicBool,
}

/// What was counted of an engine up to now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct EngineCounts {
    /// Questions that it was asked.
    pub asked: u64,
    /// Those of which it was not known what became of them.
    pub unknown: u64,
    /// Outcomes that were not known and were settled.
    pub settled: u64,
    /// Sessions that were opened with it.
    pub opened: u64,
    /// Whether it answered when it was last asked.
    pub answers: bool,
}

impl Counts {
    /// A session was opened, or not.
    pub(super) fn opened<T>(&self, opened: &Result<T, Trouble>) {
        self.answers.store(opened.is_ok(), Ordering::Relaxed);
        if opened.is_ok() {
            self.opened.fetch_add(1, Ordering::Relaxed);
        }
    }

    /// It was asked, and this came of it.
    pub(super) fn asked<T>(&self, answer: &Result<T, Trouble>) {
        self.asked.fetch_add(1, Ordering::Relaxed);
        let is_unknown = matches!(answer, Err(Trouble::Unknown(_)));
        if is_unknown {
            self.unknown.fetch_add(1, Ordering::Relaxed);
        }
        // One that refuses has answered.
        let is_lost = matches!(answer, Err(Trouble::Unreached(_)));
        self.answers
            .store(!is_unknown && !is_lost, Ordering::Relaxed);
    }

    /// An outcome that was not known is.
    pub(super) fn settled(&self) {
        self.settled.fetch_add(1, Ordering::Relaxed);
    }

    pub(super) fn now(&self) -> EngineCounts {
        EngineCounts {
            asked: self.asked.load(Ordering::Relaxed),
            unknown: self.unknown.load(Ordering::Relaxed),
            settled: self.settled.load(Ordering::Relaxed),
            opened: self.opened.load(Ordering::Relaxed),
            answers: self.answers.load(Ordering::Relaxed),
        }
    }
}
