//! What a node shows everyone: the own certificate of its book while there is one alone, and what all books have in
//! common as soon as there are several.
//!
//! Whoever makes a code beside the node goes by how many books there are, too, so that the two agree without a word.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use super::books::Books;
use super::off_the_runtime;
use crate::desk::{Clock as _, SystemClock};
use crate::serve::door::Shown;

/// Whether a node shows what all books have in common.
#[derive(Debug, Default)]
pub(super) struct Turned {
    is_done: AtomicBool,
    /// Whether it was told that it cannot be done.
    is_told: AtomicBool,
}

impl Books {
    /// Shows this from now on; none where no door was asked for.
    pub(super) fn show(&self, shown: Option<Arc<Shown>>) {
        let stays = shown.as_ref().is_none_or(|shown| !shown.may_turn());
        let is_done = stays || self.known.has_several();
        self.place.turned.is_done.store(is_done, Ordering::SeqCst);
        self.place.shown.store(shown);
        self.widen();
    }

    /// Has the door as wide as the shops want it that are served.
    pub(super) fn widen(&self) {
        if !self.is_named {
            self.place.doorway.tell_shops(self.known.here().len());
        }
    }

    /// Turns to what all books have in common once there are several. What cannot be done now is done later.
    pub(super) async fn turn(&self) {
        let turned = &self.place.turned;
        if turned.is_done.load(Ordering::SeqCst) || !self.known.has_several() {
            return;
        }
        let Some(shown) = self.place.shown.load_full() else {
            return;
        };
        let store = self.store.clone();
        let turning = move || shown.turn_to(&*store.cabinet_of_all(), SystemClock.now());
        match off_the_runtime(turning).await {
            Ok(()) => {
                tracing::info!(
                    "there are several books now: everyone is shown the certificate that they have in common, and \
                     devices with fettle their book's own. Scripts that were paired before need a new key: \
                     'fettle shop export-key'"
                );
                turned.is_done.store(true, Ordering::SeqCst);
            }
            Err(error) if !turned.is_told.swap(true, Ordering::SeqCst) => {
                tracing::warn!(
                    "the certificate that several books have in common cannot be shown yet: {}",
                    error.told()
                );
            }
            Err(_) => {}
        }
    }
}
