//! Keeping a deed: into the outbox first, then to the shop, behind everything that waits.
//!
//! It serves the commands that tell what happens to the kit. A deed that was kept is never
//! forgotten: it is recorded, or it waits, or a person is told what is wrong with it.

use fettlebook_contract::call::Keepable;
use fettlebook_contract::v1::{DeedKind, Entry, Kept, ReceiveKitResponse, Role, WashKitResponse};
use jiff::Timestamp;
use prost::Message as _;
use prost::bytes::Bytes;
use tonic::{Code, Status};

use crate::fault::Fault;
use crate::last_seen::Memory;
use crate::outbox::keepable::told;
use crate::outbox::{Deed, NotKept, Outbox, ToKeep};
use crate::render::shop as words;
use crate::shop::{folder, role_word};
use crate::solo::SoloClock;
use crate::transport::delivery::{self, Delivery, Judged, Stop};
use crate::transport::raw;
use crate::transport::shop::{ShopTransport, is_unknown_here};

impl ShopTransport {
    /// Keeps a deed and sends it if that can be; gives the answer to it.
    pub(super) async fn keep(&self, path: &str, mut deed: Keepable) -> Result<Bytes, Status> {
        if self.only_looks() {
            return self.send_or_refuse(path, &deed).await;
        }
        self.check_clock().map_err(Fault::into_status)?;
        let mut outbox = match self.open_outbox() {
            Ok(outbox) => outbox,
            Err(NotKept::Barred(fault)) => return Err(fault.into_status()),
            Err(NotKept::Unwritten(fault)) => return self.send_unkept(path, &deed, fault).await,
        };
        let waiting: Vec<Deed> = outbox.folded().waiting().cloned().collect();
        let number = outbox.folded().next_number();
        let now = self.now();
        let plain = deed.clone();
        let (seen_seq, incarnation_id) = self.seen();
        deed.keep(
            stamp(now),
            Kept {
                number,
                seen_seq,
                incarnation_id,
                kept_time: Some(stamp(now)),
                levels: Vec::new(),
                tag_letter: self.tag_letter(),
            },
        );
        let kept = ToKeep {
            request_id: deed.request_id().to_owned(),
            method: path.to_owned(),
            body: deed.encode(),
            kept_time: now,
            told: told(&deed),
        };
        if self.reachable().is_none() {
            return self.keep_here(&mut outbox, kept, &deed, &waiting).await;
        }
        if let Err(fault) = outbox.keep(kept) {
            drop(outbox);
            return self.send_unkept(path, &plain, fault).await;
        }
        self.send_kept(&mut outbox, number, &deed).await
    }

    /// Keeps a deed while the shop is out of reach.
    async fn keep_here(
        &self,
        outbox: &mut Outbox,
        mut kept: ToKeep,
        deed: &Keepable,
        waiting: &[Deed],
    ) -> Result<Bytes, Status> {
        let imagined = self
            .imagined(&kept.method, kept.body.clone().into(), waiting)
            .await?;
        if let Some(shown) = imagined.as_ref().and_then(|answer| with_tags(deed, answer)) {
            kept.body = shown.encode();
        }
        let number = outbox
            .keep(kept)
            .map_err(|fault| Fault::neither_kept(&fault, &self.told_away()).into_status())?;
        if let Some(copy) = self.copy(Some(&[])).await {
            copy.has_imagined(number);
        }
        self.say_kept(outbox);
        Ok(imagined.unwrap_or_else(|| self.blank(deed)))
    }

    /// Refuses to keep anything by a clock that is earlier than the copy: every time would be wrong.
    fn check_clock(&self) -> Result<(), Fault> {
        if matches!(self.clock, SoloClock::Accepted) {
            return Ok(());
        }
        let (now, copy) = (self.now(), self.copy_standing());
        match copy.filter(|copy| words::is_before(&now, &copy.as_of_time)) {
            Some(copy) => Err(words::clock_before_copy(&now, &copy)),
            None => Ok(()),
        }
    }

    /// Whether this device may do no more than look, as the shop last said.
    fn only_looks(&self) -> bool {
        let book = self.last_book();
        let said = book.map(|book| role_word(book.caller_role()));
        let said = said.filter(|role| !role.is_empty());
        said.unwrap_or(&self.paired.borrow().role) == role_word(Role::Look)
    }

    /// Sends a deed of a device that may only look, as far as is known here: the shop may say
    /// otherwise by now. It is never kept, for it may never be sent.
    async fn send_or_refuse(&self, path: &str, deed: &Keepable) -> Result<Bytes, Status> {
        let device = self.paired.borrow().device.clone();
        let Some(wire) = self.reachable() else {
            return Err(words::may_not_keep(&device).into_status());
        };
        let answer = delivery::deliver(wire, path, deed.encode().into()).await;
        answer.map_err(|status| match delivery::judge(&status) {
            Judged::OutOfReach => {
                self.go_away(delivery::trouble(&status));
                words::may_not_keep(&device).into_status()
            }
            Judged::Barred | Judged::Refused | Judged::Unclear => status,
        })
    }

    /// What the copy makes of a deed; nothing where it has no answer. Only what cannot be understood
    /// or is not allowed is refused.
    async fn imagined(
        &self,
        path: &str,
        body: Bytes,
        waiting: &[Deed],
    ) -> Result<Option<Bytes>, Status> {
        let Some(copy) = self.copy(Some(waiting)).await else {
            return Ok(None);
        };
        match raw::unary(copy.channel.clone(), path, body).await {
            Ok(answer) => Ok(Some(answer)),
            Err(status) if status.code() == Code::InvalidArgument => Err(status),
            Err(status) if status.code() == Code::PermissionDenied => {
                let device = self.paired.borrow().device.clone();
                Err(words::may_not_keep(&device).into_status())
            }
            Err(status) if is_unknown_here(&status) && !self.keeps_all() => {
                self.doubt();
                let fault = words::refused_by_copy(status.into(), &copy.standing);
                Err(fault.into_status())
            }
            Err(status) => {
                if is_unknown_here(&status) {
                    self.say(words::unknown_here(&Fault::from(status)));
                }
                Ok(None)
            }
        }
    }

    /// Sends what waits, the deed just kept last.
    async fn send_kept(
        &self,
        outbox: &mut Outbox,
        number: i64,
        deed: &Keepable,
    ) -> Result<Bytes, Status> {
        let Some(wire) = self.reachable() else {
            return Err(self.needs_shop().into_status());
        };
        let life = self.incarnation_id();
        let done = delivery::send_waiting(wire, outbox, Some(number), &life).await;
        self.note_held(outbox);
        self.say_delivered(&done, Some(number));
        match (done.fresh, done.stopped) {
            (Some(answer), _) => answer,
            (None, Some(Stop::Barred(status))) => {
                self.take_bar(&status);
                Err(Fault::from(status).and_kept(number).into_status())
            }
            (None, stopped) => {
                if let Some(Stop::Lost(trouble)) = stopped {
                    self.go_away(trouble);
                }
                let waiting: Vec<Deed> = outbox.folded().waiting().cloned().collect();
                let before = waiting.split_last().map_or(&[][..], |(_, before)| before);
                let body = deed.encode().into();
                let path = waiting.last().map_or("", |deed| deed.method.as_str());
                // It is kept already, so that no refusal of the copy counts any more.
                let imagined = if gives_tags(deed) {
                    // The shop may have it, with tags of its own.
                    None
                } else {
                    self.imagined(path, body, before).await.ok().flatten()
                };
                self.say_kept(outbox);
                Ok(imagined.unwrap_or_else(|| self.blank(deed)))
            }
        }
    }

    /// Sends a deed that cannot be kept, where the shop can be reached.
    async fn send_unkept(
        &self,
        path: &str,
        deed: &Keepable,
        fault: Fault,
    ) -> Result<Bytes, Status> {
        let Some(wire) = self.reachable() else {
            return Err(Fault::neither_kept(&fault, &self.told_away()).into_status());
        };
        self.say(words::sent_unkept(&fault));
        delivery::deliver(wire, path, deed.encode().into()).await
    }

    /// The letter of the tags that this device gives itself while the shop is out of reach; else the shop gives
    /// them.
    fn tag_letter(&self) -> String {
        match self.reachable() {
            Some(_) => String::new(),
            None => self.paired.borrow().tag_letter.clone(),
        }
    }

    /// The last entry of the book that was seen on this device, and the incarnation it is of.
    fn seen(&self) -> (i64, String) {
        if let Some(book) = self.last_book() {
            return (book.head_seq, book.incarnation_id);
        }
        let remembered = Memory::of_this_machine().last_seen(&self.paired.borrow().book_id);
        let copy = self.copy_standing();
        let copied = copy.map(|copy| (copy.head_seq, copy.incarnation_id));
        remembered.max(copied).unwrap_or_default()
    }

    /// A deed that is only looked at, as it would be kept: without signal it will be, and then nothing that
    /// happened is refused, so that what is shown is what is kept.
    pub(super) fn as_kept(&self, deed: &Keepable) -> Bytes {
        let (mut deed, now) = (deed.clone(), self.now());
        let (seen_seq, incarnation_id) = self.seen();
        let kept = Kept {
            number: 1,
            seen_seq,
            incarnation_id,
            kept_time: Some(stamp(now)),
            levels: Vec::new(),
            tag_letter: self.tag_letter(),
        };
        deed.keep(stamp(now), kept);
        deed.encode().into()
    }

    /// An answer that says no more than that the deed was kept.
    pub(super) fn blank(&self, deed: &Keepable) -> Bytes {
        let entry = Entry {
            request_id: deed.request_id().to_owned(),
            done_time: deed.done_time(),
            note: deed.note().to_owned(),
            by: self.paired.borrow().device.clone(),
            kept: deed.kept().cloned(),
            ..Entry::default()
        };
        // All these answers carry the entry in the same field.
        let answer = WashKitResponse {
            entry: Some(entry),
            ..WashKitResponse::default()
        };
        answer.encode_to_vec().into()
    }

    /// Says that it is kept, how many wait, and why.
    fn say_kept(&self, outbox: &Outbox) {
        let waiting = outbox.folded().waiting().count();
        self.say(words::kept_here(&self.told_away(), waiting));
    }

    /// Says what became of deeds other than the one that a person waits for.
    pub(crate) fn say_delivered(&self, done: &Delivery, fresh: Option<i64>) {
        let earlier = done.sent.iter().filter(|sent| Some(sent.number) != fresh);
        let earlier: Vec<_> = earlier.collect();
        self.say(words::sent_on(earlier.len()));
        for sent in earlier {
            for flag in &sent.flags {
                self.say(words::flagged(sent.seq, flag));
            }
        }
        self.say(words::just_parked(done.parked.len()));
        if let Some(fault) = &done.unnoted {
            self.say(words::unnoted(fault));
        }
    }

    /// Begins a command: sends on what waits, and says what else lies in the outbox.
    pub(crate) async fn begin(&self) {
        let folder = folder::outbox(&self.folder);
        if !crate::file::holds_something(&folder) {
            return;
        }
        let mut outbox = match self.open_outbox() {
            Ok(outbox) => outbox,
            Err(not_kept) => return self.say(words::unread_outbox(not_kept.fault())),
        };
        if let Some(wire) = self.reachable()
            && outbox.folded().waiting().next().is_some()
        {
            // Which life of the book takes them is known with them.
            if self.last_book().is_none() {
                self.ask_book().await;
            }
            let life = self.incarnation_id();
            let done = delivery::send_waiting(wire, &mut outbox, None, &life).await;
            self.say_delivered(&done, None);
            match done.stopped {
                Some(Stop::Lost(trouble)) => self.go_away(trouble),
                Some(Stop::Barred(status)) => {
                    self.take_bar(&status);
                    self.say(words::not_sent_on(&Fault::from(status)));
                }
                None => {}
            }
        }
        self.note_held(&outbox);
        self.say(words::parked(outbox.folded().parked().count()));
    }
}

/// Whether whoever records a deed gives tags to what came.
fn gives_tags(deed: &Keepable) -> bool {
    matches!(deed, Keepable::ReceiveKit(receive) if receive.tags.is_empty())
}

/// A receipt with the tags that are shown for it, so that these are recorded; nothing for other deeds.
pub(super) fn with_tags(deed: &Keepable, answer: &Bytes) -> Option<Keepable> {
    let Keepable::ReceiveKit(receive) = deed else {
        return None;
    };
    let entry = ReceiveKitResponse::decode(answer.clone()).ok()?.entry?;
    let came = entry.deeds.into_iter();
    let came = came.filter(|deed| deed.kind() == DeedKind::Received);
    let tags: Vec<String> = came.map(|deed| deed.subject).collect();
    (gives_tags(deed) && !tags.is_empty()).then(|| {
        let mut shown = receive.clone();
        shown.tags = tags;
        Keepable::ReceiveKit(shown)
    })
}

fn stamp(moment: Timestamp) -> prost_types::Timestamp {
    prost_types::Timestamp {
        seconds: moment.as_second(),
        nanos: moment.subsec_nanosecond(),
    }
}
