//! What all books of a node share.

use std::collections::HashSet;
use std::sync::atomic::AtomicBool;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use arc_swap::ArcSwapOption;
use tokio::sync::Semaphore;
use uuid::Uuid;

use super::counts::BookCounts;
use super::files::Shares;
use super::turning::Turned;
use crate::args::Args;
use crate::desk::DeskOptions;
use crate::limits::{BOOKS_BESIDE_MAX, BOOKS_OPENING_MAX};
use crate::serve::door::Shown;
use crate::serve::doorway::Doorway;
use crate::serve::options;

/// What all books of a node share.
pub(super) struct Place {
    pub(super) args: Args,
    pub(super) options: DeskOptions,
    /// Books in which the clock of this machine was taken for right, where that was asked for.
    clock_accepted: Mutex<HashSet<Uuid>>,
    /// What devices are shown; none where no door was asked for.
    pub(super) shown: ArcSwapOption<Shown>,
    pub(super) turned: Turned,
    /// How wide the door is for so many shops.
    pub(super) doorway: Doorway,
    /// Whether nothing is taken over any more.
    pub(super) is_leaving: AtomicBool,
    /// Room for books that are open.
    pub(super) room: Arc<Semaphore>,
    /// Turns at opening one.
    pub(super) opening: Semaphore,
    /// Turns at what nobody waits for.
    pub(super) beside: Arc<Semaphore>,
    pub(super) counts: BookCounts,
}

impl Place {
    pub(super) fn new(args: &Args, commit: &'static str, shares: Shares) -> Self {
        Self {
            args: args.clone(),
            options: DeskOptions {
                // Whoever waits looks again and again.
                lock_wait: Duration::ZERO,
                ..options(args, commit)
            },
            clock_accepted: Mutex::default(),
            shown: ArcSwapOption::empty(),
            turned: Turned::default(),
            doorway: Doorway::for_connections(shares.connections),
            is_leaving: AtomicBool::new(false),
            room: Arc::new(Semaphore::new(shares.books)),
            opening: Semaphore::new(BOOKS_OPENING_MAX),
            beside: Arc::new(Semaphore::new(BOOKS_BESIDE_MAX)),
            counts: BookCounts::default(),
        }
    }

    /// What a book is opened with. The clock is taken for right once in each, when this run of the node first has it:
    /// whoever started it looked at the clock.
    pub(super) fn options_of(&self, book: Uuid) -> DeskOptions {
        let accepted = self.clock_accepted.lock();
        let accepted = accepted.unwrap_or_else(PoisonError::into_inner);
        DeskOptions {
            accept_clock: self.options.accept_clock && !accepted.contains(&book),
            ..self.options.clone()
        }
    }

    /// A book was opened with them.
    pub(super) fn was_opened(&self, book: Uuid) {
        if self.options.accept_clock {
            let accepted = self.clock_accepted.lock();
            let mut accepted = accepted.unwrap_or_else(PoisonError::into_inner);
            accepted.insert(book);
        }
    }
}
