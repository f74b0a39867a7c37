//! What all books of a node share.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::time::Duration;

use arc_swap::ArcSwapOption;
use tokio::sync::Semaphore;

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
}
