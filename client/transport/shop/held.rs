//! What a device holds of its shop: the outbox, and the copy of the book with what waits imagined on it.
//!
//! An outbox is opened only for the book that is paired here.

use std::collections::BTreeSet;

use fettlebook_contract::v1::DeviceOutbox;

use super::ShopTransport;
use crate::outbox::{Deed, NotKept, Outbox};
use crate::render::shop as words;
use crate::shop::folder;
use crate::shop::other_books;
use crate::solo::SoloCopy;
use crate::transport::copy::OpenCopy;

impl ShopTransport {
    /// How the copy stands, without opening it.
    pub(crate) fn copy_standing(&self) -> Option<SoloCopy> {
        let found = self.solo.copy_standing(&folder::copy(&self.folder));
        found.unwrap_or_default()
    }

    pub(super) fn has_copy(&self) -> bool {
        self.copy_standing().is_some()
    }

    /// The copy with everything that waits imagined on it; `outbox` where that is open already.
    pub(in crate::transport) async fn copy(&self, outbox: Option<&[Deed]>) -> Option<&OpenCopy> {
        let fresh = !self.copy.initialized();
        let opened = self.copy.get_or_init(|| async {
            let folder = folder::copy(&self.folder);
            OpenCopy::open(self.solo, &folder)
                .await
                .unwrap_or_else(|fault| {
                    self.say(words::copy_unusable(&fault));
                    None
                })
        });
        let copy = opened.await.as_ref()?;
        match outbox {
            Some(waiting) => copy.imagine(waiting).await,
            None if fresh => copy.imagine(&self.waiting()).await,
            None => {}
        }
        Some(copy)
    }

    /// The copy with what waits imagined on it, for who lets go of it again at once.
    pub(crate) async fn look_at_copy(&self, waiting: &[Deed]) -> Option<&OpenCopy> {
        self.copy(Some(waiting)).await
    }

    /// Notes what the outbox holds, to be told with the next question for the book.
    pub(crate) fn note_held(&self, outbox: &Outbox) {
        let whole = |count| i64::try_from(count).unwrap_or(i64::MAX);
        self.held.set(DeviceOutbox {
            waiting_count: whole(outbox.folded().waiting().count()),
            parked_count: whole(outbox.folded().parked().count()),
        });
    }

    /// Opens the outbox, if what it holds is for the book that is paired here.
    ///
    /// # Errors
    /// When it is for another, or cannot be opened.
    pub(crate) fn open_outbox(&self) -> Result<Outbox, NotKept> {
        let check = || {
            if !other_books::is_of_another(&self.folder, &self.paired.borrow().book_id) {
                return Ok(());
            }
            let folder = self.folder.display().to_string();
            Err(NotKept::Barred(words::of_another_book(&folder)))
        };
        check()?;
        let outbox = Outbox::open(self.solo, &folder::outbox(&self.folder))?;
        // Another process may have paired this folder anew while this one waited for it.
        check()?;
        Ok(outbox)
    }

    /// The ids of all requests that were kept here.
    pub(in crate::transport) fn kept_requests(&self) -> Result<BTreeSet<String>, NotKept> {
        let outbox = self.open_outbox()?;
        Ok(outbox.folded().request_ids())
    }

    /// What waits, where the outbox can be read.
    pub(crate) fn waiting(&self) -> Vec<Deed> {
        let folder = folder::outbox(&self.folder);
        if !crate::file::holds_something(&folder) {
            return Vec::new();
        }
        match self.open_outbox() {
            Ok(outbox) => outbox.folded().waiting().cloned().collect(),
            Err(not_kept) => {
                self.say(words::unread_outbox(not_kept.fault()));
                Vec::new()
            }
        }
    }
}
