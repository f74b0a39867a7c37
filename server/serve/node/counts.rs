//! What a node counts of its books.

use prometheus_client::metrics::counter::Counter;
use prometheus_client::metrics::gauge::Gauge;
use prometheus_client::registry::Registry;

/// What a node counts of its books. Clones count together.
#[derive(Debug, Clone, Default)]
pub(super) struct BookCounts {
    /// Those that another machine has, as this one was told when it was asked for them.
    pub(super) elsewhere: Gauge,
    pub(super) opened: Counter,
    pub(super) let_go: Counter,
    pub(super) refused: Counter,
    /// Backups by itself of books that it has no more, and those that failed.
    pub(super) backups: Counter,
    pub(super) backup_failures: Counter,
}

impl BookCounts {
    /// Makes them readable under their names.
    pub(super) fn register(&self, registry: &mut Registry) {
        registry.register(
            "books_elsewhere",
            "Books that somebody asked for here and another machine has",
            self.elsewhere.clone(),
        );
        for (name, help, counter) in [
            ("books_opened", "Books that were opened", &self.opened),
            (
                "books_let_go",
                "Books that were let go because nobody used them, or for another that was asked for",
                &self.let_go,
            ),
            (
                "books_refused",
                "Requests that found no book here: one that is not kept here, or no room for it",
                &self.refused,
            ),
        ] {
            registry.register(name, help, counter.clone());
        }
    }
}
