//! How far the keeper may be behind.
//!
//! Invariant: what is handed over and not taken yet stays bounded in entries, however they are grouped: it is in
//! memory, and all of it becomes one batch.

use std::sync::{Condvar, Mutex, PoisonError};

use crate::limits::SHELF_BACKLOG_COUNT_MAX;

/// Entries that were handed over and not taken yet.
#[derive(Debug)]
pub(super) struct Backlog {
    /// None once nobody takes any more.
    count: Mutex<Option<usize>>,
    fewer: Condvar,
}

impl Default for Backlog {
    fn default() -> Self {
        Self {
            count: Mutex::new(Some(0)),
            fewer: Condvar::new(),
        }
    }
}

impl Backlog {
    /// Adds so many entries, once there is room for them; they always have it where there are no others.
    pub(super) fn add(&self, count: usize) {
        let is_full = |held: &mut Option<usize>| {
            held.is_some_and(|held| {
                held > 0 && held.saturating_add(count) > SHELF_BACKLOG_COUNT_MAX
            })
        };
        let held = self.count.lock().unwrap_or_else(PoisonError::into_inner);
        let waited = self.fewer.wait_while(held, is_full);
        let mut held = waited.unwrap_or_else(PoisonError::into_inner);
        *held = held.map(|held| held.saturating_add(count));
    }

    /// Takes so many out.
    pub(super) fn take(&self, count: usize) {
        let mut held = self.count.lock().unwrap_or_else(PoisonError::into_inner);
        *held = held.map(|held| held.saturating_sub(count));
        self.fewer.notify_one();
    }

    /// Nobody takes any more, and nobody has to wait for it.
    pub(super) fn end(&self) {
        *self.count.lock().unwrap_or_else(PoisonError::into_inner) = None;
        self.fewer.notify_all();
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;
    use std::sync::mpsc::{Receiver, channel};
    use std::thread;
    use std::time::Duration;

    use super::*;

    const LONG: Duration = Duration::from_secs(60);

    /// Adds two entries from another thread, and says when they have room.
    fn adding_two(backlog: &Arc<Backlog>) -> Receiver<()> {
        let (added, told) = channel();
        let own = Arc::clone(backlog);
        thread::spawn(move || {
            own.add(2);
            let _ = added.send(());
        });
        told
    }

    #[test]
    fn the_next_entries_wait_until_there_is_room_for_all_of_them() {
        let backlog = Arc::new(Backlog::default());
        backlog.add(SHELF_BACKLOG_COUNT_MAX + 1);
        backlog.take(1);
        let added = adding_two(&backlog);
        backlog.take(1);
        let wait = Duration::from_millis(50);
        assert!(added.recv_timeout(wait).is_err(), "there is room for one");
        backlog.take(1);
        added.recv_timeout(LONG).unwrap();
        assert_eq!(
            *backlog.count.lock().unwrap(),
            Some(SHELF_BACKLOG_COUNT_MAX)
        );
    }

    #[test]
    fn nobody_waits_for_a_keeper_that_has_ended() {
        let backlog = Arc::new(Backlog::default());
        backlog.add(SHELF_BACKLOG_COUNT_MAX);
        let added = adding_two(&backlog);
        backlog.end();
        added.recv_timeout(LONG).unwrap();
        backlog.add(SHELF_BACKLOG_COUNT_MAX);
        backlog.add(1);
    }
}
