//! How the book stands by the shop, what that says of this device, and the copy brought up to it.
//!
//! What a device may not see any more goes from it as soon as it hears of that.

use std::time::Duration;

use fettlebook_contract::v1::{CopyEntriesRequest, ErrorReason, GetBookRequest, GetBookResponse};
use tonic::Status;

use super::ShopTransport;
use crate::call;
use crate::fault::Fault;
use crate::render::shop as words;
use crate::shop::folder;
use crate::shop::wire::Wire;
use crate::shop::{may_less, role_word};
use crate::solo::SoloCopy;
use crate::transport::copy;
use crate::transport::delivery::{self, Judged};

/// Longest time that a command which is done still takes to bring the copy up.
const BRING_UP_WAIT: Duration = Duration::from_secs(2);

impl ShopTransport {
    /// How the book stands by the shop; nothing when it cannot be told, which whatever is asked next
    /// will say.
    pub(crate) async fn ask_book(&self) -> Option<GetBookResponse> {
        self.standing().await.ok()
    }

    /// How the book stands by the shop. Says when a clock is off.
    async fn standing(&self) -> Result<GetBookResponse, Fault> {
        let wire = self.reachable().ok_or_else(|| self.needs_shop())?.clone();
        let asked = GetBookRequest {
            outbox: Some(self.held.get()),
            version: env!("CARGO_PKG_VERSION").to_owned(),
        };
        let asked = call::once(wire, asked).await;
        let book: GetBookResponse = asked.map_err(|status| self.broken(status))?;
        if book.book_id.is_empty() {
            return Err(Fault::answer("the book"));
        }
        self.take_role(role_word(book.caller_role()))?;
        self.take_places(&book);
        if let Some(theirs) = book.service_time {
            self.say(words::clock_off(&theirs, &self.now()));
        }
        *self.book.borrow_mut() = Some(book.clone());
        Ok(book)
    }

    /// Takes the role that the shop says this device has. A copy with more than it may see goes at once,
    /// and at the next start where it cannot go now.
    fn take_role(&self, role: &str) -> Result<(), Fault> {
        let mut paired = self.paired.borrow_mut();
        let copied = paired.role_of_copy().to_owned();
        let less = may_less(role, &copied);
        let is_known = role == paired.role && !paired.shut_out && !less;
        if role.is_empty() || is_known {
            return Ok(());
        }
        paired.copied_role = copied;
        role.clone_into(&mut paired.role);
        paired.shut_out = false;
        paired.copy_goes = less;
        folder::write(&self.folder, &paired)
            .map_err(|error| Fault::file(&self.folder.display().to_string(), &error))?;
        if less {
            folder::take_copy_away(&self.folder, &mut paired)?;
            self.say(words::may_less(&paired.role));
        }
        Ok(())
    }

    /// Takes in where the shop says that it is reached, for the next commands too.
    fn take_places(&self, book: &GetBookResponse) {
        let reached = self.wire.as_ref().and_then(Wire::reached);
        let mut paired = self.paired.borrow_mut();
        if paired.heed_places(book.addresses.clone(), reached.as_ref()) {
            // Where it cannot be written the next answer says it again.
            let _ = folder::write(&self.folder, &paired);
        }
    }

    /// Takes what a shop that takes nothing says of this device: where it is shut out the copy goes, and
    /// what waits stays.
    pub(crate) fn take_bar(&self, status: &Status) {
        let mut paired = self.paired.borrow_mut();
        let is_out = call::reason(status) == Some(ErrorReason::DeviceRevoked);
        if !is_out || (paired.shut_out && !paired.copy_goes) {
            return;
        }
        paired.shut_out = true;
        paired.copy_goes = true;
        let gone = folder::write(&self.folder, &paired)
            .map_err(|error| Fault::file(&self.folder.display().to_string(), &error))
            .and_then(|()| folder::take_copy_away(&self.folder, &mut paired));
        self.say(words::shut_out(gone.as_ref().err()));
    }

    /// What to say of a question that was not answered: that the shop is out of reach now, or what it
    /// refused.
    fn broken(&self, status: Status) -> Fault {
        self.take_bar(&status);
        if delivery::judge(&status) != Judged::OutOfReach {
            return Fault::from(status);
        }
        self.go_away(delivery::trouble(&status));
        words::cut_off(&self.told_away())
    }

    /// How the book stood when the shop last said so in this command.
    pub(crate) fn last_book(&self) -> Option<GetBookResponse> {
        self.book.borrow().clone()
    }

    /// Brings the copy up to where the book stands.
    ///
    /// # Errors
    /// When the shop cannot be reached or refuses, or the disk fails.
    pub(crate) async fn bring_up(&self) -> Result<SoloCopy, Fault> {
        let book = self.standing().await?;
        let wire = self.reachable().ok_or_else(|| self.needs_shop())?;
        let role = role_word(book.caller_role());
        self.heed();
        let changed = !role.is_empty() && role != self.paired.borrow().role_of_copy();
        let folder = folder::copy(&self.folder);
        self.tell_lost(&book).await;
        let page = |after_seq| async move {
            let asked = CopyEntriesRequest { after_seq };
            let answer = call::once(wire.clone(), asked).await;
            answer.map_err(|status| self.broken(status))
        };
        let copy = copy::bring_up(page, self.solo, &folder, &book, changed).await?;
        if changed {
            self.paired.borrow_mut().role = role.to_owned();
            self.paired.borrow_mut().copied_role = role.to_owned();
            let written = folder::write(&self.folder, &self.paired.borrow());
            written.map_err(|error| Fault::file(&self.folder.display().to_string(), &error))?;
        }
        Ok(copy)
    }

    /// Brings a copy that there is up, in a short time and in silence: the next command or
    /// `shop sync` does what this one cannot.
    pub(crate) async fn bring_up_quietly(&self) {
        let (Some(_), Some(book), Some(copy)) =
            (self.reachable(), self.last_book(), self.copy_standing())
        else {
            return;
        };
        if copy.head_seq != book.head_seq || copy.incarnation_id != book.incarnation_id {
            let _ = tokio::time::timeout(BRING_UP_WAIT, self.bring_up()).await;
        }
    }

    /// Takes in what the shop said of this device with its answers, for the next commands too.
    pub(crate) fn heed(&self) {
        let Some(heard) = self.wire.as_ref().and_then(Wire::heard) else {
            return;
        };
        if self.paired.borrow_mut().heed(heard) {
            // Where it cannot be written the next answer says it again.
            let _ = folder::write(&self.folder, &self.paired.borrow());
        }
    }
}
