//! The writer's wait for company, asleep: whoever is to join it needs the processor more.

use std::sync::OnceLock;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread::{self, Thread};
use std::time::Duration;

/// Nobody is waited for.
const NOBODY: usize = usize::MAX;

/// Where those who come find the writer that waits for them.
#[derive(Debug)]
pub(super) struct Company {
    /// How many have to wait in the queue for the writer to be woken.
    wanted: AtomicUsize,
    writer: OnceLock<Thread>,
}

impl Default for Company {
    fn default() -> Self {
        Self {
            wanted: AtomicUsize::new(NOBODY),
            writer: OnceLock::new(),
        }
    }
}

impl Company {
    /// Sleeps until so many wait in the queue, so long at most. Only the writer waits.
    pub(super) fn wait(&self, wanted: usize, longest: Duration, waiting: impl FnOnce() -> usize) {
        self.writer.get_or_init(thread::current);
        self.wanted.store(wanted, Ordering::SeqCst);
        // Whoever came before it was said how many are wanted has woken nobody.
        if waiting() < wanted {
            thread::park_timeout(longest);
        }
        self.wanted.store(NOBODY, Ordering::SeqCst);
    }

    /// Somebody came, and with them so many wait in the queue.
    pub(super) fn came(&self, waiting: impl FnOnce() -> usize) {
        let wanted = self.wanted.load(Ordering::SeqCst);
        if wanted != NOBODY
            && waiting() >= wanted
            && self.wanted.swap(NOBODY, Ordering::SeqCst) != NOBODY
            && let Some(writer) = self.writer.get()
        {
            writer.unpark();
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;
    use std::sync::mpsc::{Receiver, channel};
    use std::time::Instant;

    use super::*;

    const LONG: Duration = Duration::from_secs(60);

    /// A writer that waits for three, once it does; it says how long it waited.
    fn waiting(company: &Arc<Company>) -> Receiver<Duration> {
        let (woken, told) = channel();
        let own = Arc::clone(company);
        thread::spawn(move || {
            let start = Instant::now();
            own.wait(3, LONG, || 0);
            let _ = woken.send(start.elapsed());
        });
        while company.wanted.load(Ordering::SeqCst) != 3 {
            thread::yield_now();
        }
        told
    }

    #[test]
    fn the_writer_sleeps_until_as_many_came_as_are_wanted() {
        let company = Arc::default();
        let woken = waiting(&company);
        company.came(|| 1);
        company.came(|| 2);
        assert!(
            woken.recv_timeout(Duration::from_millis(50)).is_err(),
            "two are not enough"
        );
        company.came(|| 3);
        assert!(woken.recv_timeout(LONG).unwrap() < LONG / 2);
    }

    #[test]
    fn the_writer_does_not_sleep_where_they_came_already_and_no_longer_than_it_may() {
        let company = Company::default();
        let start = Instant::now();
        company.wait(3, LONG, || 3);
        company.wait(3, Duration::from_millis(1), || 2);
        assert!(start.elapsed() < LONG / 2);
    }
}
