//! A book that was restored: what of this device it had and has lost since.
//!
//! Its own deeds are in the outbox and go again, by the ids that they had: a book that has one after all
//! answers with its entry, so that none counts twice. What it told otherwise can only be named.

use fettlebook_contract::v1::{GetBookResponse, ListEntriesRequest};

use super::shop::ShopTransport;
use crate::call;
use crate::fault::Fault;
use crate::outbox::{Deed, Line, Outbox};
use crate::render::shop as words;
use crate::transport::copy::OpenCopy;

/// Entries of the old copy that are read, the newest first.
const LOST_READ_MAX: i32 = 1_000;

impl ShopTransport {
    /// The incarnation of the book; empty where the shop has not said so in this command.
    pub(crate) fn incarnation_id(&self) -> String {
        let book = self.last_book();
        book.map(|book| book.incarnation_id).unwrap_or_default()
    }

    /// Has deeds wait again that were recorded behind the point from which the book was restored, and
    /// gives those of which it is known that they were.
    ///
    /// # Errors
    /// When that cannot be written down.
    pub(crate) fn find_missed(&self, outbox: &mut Outbox) -> Result<Vec<Deed>, Fault> {
        let Some(book) = self.last_book().filter(|book| book.incarnation_seq > 0) else {
            return Ok(Vec::new());
        };
        let missed: Vec<Deed> = outbox
            .folded()
            .sent()
            .filter(|(_, seq)| *seq > book.incarnation_seq)
            .filter(|(deed, _)| deed.incarnation_id != book.incarnation_id)
            .map(|(deed, _)| deed.clone())
            .collect();
        let lines: Vec<Line> = missed
            .iter()
            .map(|deed| Line::Missed {
                number: deed.number,
            })
            .collect();
        outbox.mark(&lines)?;
        Ok(missed
            .into_iter()
            .filter(|deed| !deed.incarnation_id.is_empty())
            .collect())
    }

    /// Sends again what a restored book has lost of this device, and says so.
    pub(crate) async fn send_missed(&self) {
        let is_restored = self
            .last_book()
            .is_some_and(|book| book.incarnation_seq > 0);
        let folder = crate::shop::folder::outbox(&self.folder);
        if !is_restored || !crate::file::holds_something(&folder) {
            return;
        }
        // That it cannot be opened is said by whoever keeps or sends.
        let Ok(mut outbox) = self.open_outbox() else {
            return;
        };
        let waited = outbox.folded().waiting().count();
        match self.find_missed(&mut outbox) {
            Ok(missed) if missed.is_empty() => {}
            Ok(missed) => self.say(words::missed(&missed)),
            Err(fault) => self.say(words::unread_outbox(&fault)),
        }
        let waits = outbox.folded().waiting().count();
        drop(outbox);
        if waits > waited {
            self.begin().await;
        }
    }

    /// Says what this device reported to the book before it was restored and has not kept, as far as the
    /// copy of that life has it. The copy begins anew after that.
    pub(super) async fn tell_lost(&self, book: &GetBookResponse) {
        let is_other = self.copy_standing().is_some_and(|copy| {
            copy.incarnation_id != book.incarnation_id && copy.head_seq > book.incarnation_seq
        });
        if !is_other || book.incarnation_seq == 0 {
            return;
        }
        let folder = crate::shop::folder::copy(&self.folder);
        let Ok(Some(copy)) = OpenCopy::open(self.solo, &folder).await else {
            return;
        };
        let asked = ListEntriesRequest {
            page_size: LOST_READ_MAX,
            newest_first: true,
            by: book.caller.clone(),
            ..ListEntriesRequest::default()
        };
        let listed = call::once(copy.channel.clone(), asked).await;
        copy.close().await;
        let (Ok(listed), Ok(kept)) = (listed, self.kept_requests()) else {
            return;
        };
        let lost = listed
            .entries
            .iter()
            .filter(|entry| entry.seq > book.incarnation_seq && !kept.contains(&entry.request_id));
        self.say(words::lost_with_the_book(lost));
    }
}
