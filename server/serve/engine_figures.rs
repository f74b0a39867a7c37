//! What the page of metrics tells of the engine that keeps the book: what it was asked, and whether it answers.

use std::sync::atomic::Ordering;

use prometheus_client::metrics::counter::Counter;
use prometheus_client::metrics::gauge::Gauge;
use prometheus_client::registry::Registry;

use crate::store::EngineCounts;

/// Gives what was counted up to now; it asks nothing of the engine.
pub(super) type EngineLook = Box<dyn Fn() -> EngineCounts + Send + Sync>;

/// The figures of an engine, looked at when a scrape comes.
pub(super) struct EngineFigures {
    look: EngineLook,
    asked: Counter,
    unknown: Counter,
    settled: Counter,
    opened: Counter,
    answers: Gauge,
}

impl EngineFigures {
    /// Those on a page.
    pub(super) fn registered(registry: &mut Registry, look: EngineLook) -> Self {
        let figures = Self {
            look,
            asked: Counter::default(),
            unknown: Counter::default(),
            settled: Counter::default(),
            opened: Counter::default(),
            answers: Gauge::default(),
        };
        for (name, help, counter) in [
            (
                "engine_questions",
                "Questions that were asked of the engine",
                &figures.asked,
            ),
            (
                "engine_unknown_outcomes",
                "Questions of which it was not known what became of them",
                &figures.unknown,
            ),
            (
                "engine_settled_outcomes",
                "Outcomes that were not known and were settled",
                &figures.settled,
            ),
            (
                "engine_sessions_opened",
                "Sessions that were opened with the engine",
                &figures.opened,
            ),
        ] {
            registry.register(name, help, counter.clone());
        }
        registry.register(
            "engine_answers",
            "1 where the engine answered when it was last asked, 0 else",
            figures.answers.clone(),
        );
        figures
    }

    /// Looks at what was counted.
    pub(super) fn look(&self) {
        let now = (self.look)();
        for (counter, count) in [
            (&self.asked, now.asked),
            (&self.unknown, now.unknown),
            (&self.settled, now.settled),
            (&self.opened, now.opened),
        ] {
            counter.inner().store(count, Ordering::Relaxed);
        }
        self.answers.set(i64::from(now.answers));
    }
}
