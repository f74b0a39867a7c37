//! The way to a shop: to its service while that can be reached, else to what this device holds.
//!
//! It serves every command in a shop. Reads are answered by the copy when there is no signal, and it
//! is said so; what happens to the kit is kept; everything else needs the shop. Once the shop is out
//! of reach it stays so for the rest of a command, so that nobody waits twice.

use std::cell::{Cell, RefCell};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::rc::Rc;
use std::time::Duration;

use fettlebook_contract::call::{Keepable, rpc};
use fettlebook_contract::v1::{
    CallKind, CopyEntriesRequest, DeviceOutbox, ErrorReason, GetBookRequest, GetBookResponse,
};
use jiff::Timestamp;
use prost::bytes::Bytes;
use tokio::sync::OnceCell;
use tonic::body::Body;
use tonic::codegen::{StdError, http};
use tonic::{Code, Status};

use crate::call;
use crate::clock;
use crate::fault::Fault;
use crate::fault::root_cause;
use crate::outbox::keepable::only_looks;
use crate::outbox::{Deed, NotKept, Outbox};
use crate::render::shop as words;
use crate::shop::folder::{self, Paired};
use crate::shop::other_books;
use crate::shop::role_word;
use crate::shop::trust::Pin;
use crate::shop::wire::{Cause, Target, Trouble, Wire};
use crate::solo::{Solo, SoloClock, SoloCopy};
use crate::transport::copy::{self, OpenCopy};
use crate::transport::delivery::{self, Judged};
use crate::transport::raw;

/// Tries of a read before the copy answers it: the second makes the connection anew.
const READ_TRIES: usize = 2;
/// Longest time that a command which is done still takes to bring the copy up.
const BRING_UP_WAIT: Duration = Duration::from_secs(2);

/// The way to a shop.
pub(crate) struct ShopTransport {
    pub(super) solo: &'static dyn Solo,
    pub(super) folder: PathBuf,
    pub(super) paired: RefCell<Paired>,
    pub(super) clock: SoloClock,
    /// Whether nothing is kept: what cannot be sent now fails.
    insists: bool,
    /// Whether a deed is kept that the copy says is wrong.
    keeps_all: Cell<bool>,
    /// Whether the copy refused a deed that could be kept all the same.
    doubts: Cell<bool>,
    /// Whether it is told at length why the shop is out of reach.
    is_verbose: Cell<bool>,
    wire: Option<Wire>,
    /// Why the shop is out of reach, once it is.
    away: RefCell<Option<Trouble>>,
    /// What the outbox held when it was last looked into.
    held: Cell<DeviceOutbox>,
    /// How the book stood when the shop last said so.
    book: RefCell<Option<GetBookResponse>>,
    copy: OnceCell<Option<OpenCopy>>,
    /// What the person should know, a sentence each, until it is told.
    talk: RefCell<Vec<String>>,
}

impl ShopTransport {
    /// Opens the way to the shop that a folder was paired with. That it cannot be reached is no error.
    ///
    /// # Errors
    /// When the folder is not paired, or what it holds cannot be used.
    pub(crate) async fn open(
        folder: &Path,
        insists: bool,
        solo: &'static dyn Solo,
        clock: SoloClock,
    ) -> Result<Rc<Self>, Fault> {
        let mut paired = folder::read(folder)?;
        if paired.copy_goes || rank(&paired.role) < rank(paired.role_of_copy()) {
            take_copy_away(folder, &mut paired)?;
        }
        let pin = Pin::of_pem(&paired.certificate).ok_or_else(|| {
            let mut fault = Fault::usage(
                "--shop",
                format!("The certificate kept in {} is damaged.", folder.display()),
            );
            fault.todo = "Pair this device again with 'fettle shop pair CODE --again'.".to_owned();
            fault
        })?;
        let target = Target {
            host: paired.host.clone(),
            port: paired.port,
            pin,
        };
        let (wire, away) = match Wire::open(&target, Some(&paired.token)).await {
            Ok(wire) => (Some(wire), None),
            Err(trouble) => (None, Some(trouble)),
        };
        let talk = settle(folder, &paired.book_id, solo);
        Ok(Rc::new(Self {
            solo,
            folder: folder.to_owned(),
            paired: RefCell::new(paired),
            clock,
            insists,
            keeps_all: Cell::new(false),
            doubts: Cell::new(false),
            is_verbose: Cell::new(false),
            wire,
            away: RefCell::new(away),
            held: Cell::default(),
            book: RefCell::new(None),
            copy: OnceCell::new(),
            talk: RefCell::new(talk),
        }))
    }

    /// Answers a request.
    pub(super) async fn answer(
        self: Rc<Self>,
        request: http::Request<Body>,
    ) -> Result<http::Response<Body>, StdError> {
        let (parts, body) = request.into_parts();
        let message = raw::message(body).await?;
        let path = parts.uri.path();
        if self.insists {
            return self.through(&parts, &message).await;
        }
        match Keepable::decode(path, &message) {
            Some(deed) => {
                let deed = deed.map_err(|_| Status::invalid_argument("it cannot be read"))?;
                if only_looks(&deed) {
                    return self.read(&parts, &message, Some(&deed)).await;
                }
                let answer = self.keep(path, deed).await?;
                Ok(raw::answer(answer))
            }
            None if can_be_copied(path) => self.read(&parts, &message, None).await,
            None => self.through(&parts, &message).await,
        }
    }

    /// Sends a request that only the shop can answer.
    async fn through(
        &self,
        parts: &http::request::Parts,
        message: &Bytes,
    ) -> Result<http::Response<Body>, StdError> {
        match &self.wire {
            Some(wire) => wire.send(raw::request(parts, message)).await,
            None => Err(self.needs_shop().carried()),
        }
    }

    /// Reads from the shop, or from the copy.
    async fn read(
        &self,
        parts: &http::request::Parts,
        message: &Bytes,
        looked_at: Option<&Keepable>,
    ) -> Result<http::Response<Body>, StdError> {
        if let Some(wire) = self.reachable() {
            for tries_left in (0..READ_TRIES).rev() {
                match wire.send(raw::request(parts, message)).await {
                    Ok(answer) => return Ok(answer),
                    Err(error) if tries_left == 0 && !self.has_copy() => return Err(error),
                    Err(error) if tries_left == 0 => self.go_away(root_cause(&*error)),
                    Err(_) => {}
                }
            }
        }
        let copy = self.copy(None).await;
        if let Some(copy) = copy {
            let away = self.told_away();
            self.say(words::from_copy(&away, &copy.standing, &self.now()));
        }
        match (copy, looked_at) {
            (Some(copy), None) => {
                super::send_on(copy.channel.clone(), raw::request(parts, message)).await
            }
            (Some(copy), Some(deed)) => {
                let (path, asked) = (parts.uri.path(), self.as_kept(deed));
                let asked = raw::unary(copy.channel.clone(), path, asked).await;
                match asked {
                    Ok(answer) => Ok(raw::answer(answer)),
                    Err(status) if is_unknown_here(&status) && self.keeps_all() => {
                        self.say(words::unknown_here(&Fault::from(status)));
                        Ok(raw::answer(self.blank(deed)))
                    }
                    Err(status) if is_unknown_here(&status) => {
                        self.doubt();
                        let fault = words::refused_by_copy(status.into(), &copy.standing);
                        Err(fault.carried())
                    }
                    Err(status) => Err(Box::new(status)),
                }
            }
            (None, Some(deed)) => Ok(raw::answer(self.blank(deed))),
            (None, None) => Err(self.needs_shop().carried()),
        }
    }

    /// The connection, while the shop can be reached.
    pub(crate) fn reachable(&self) -> Option<&Wire> {
        self.wire.as_ref().filter(|_| self.away.borrow().is_none())
    }

    /// Why the shop is out of reach, in few words; at length where that is wanted.
    pub(crate) fn told_away(&self) -> String {
        if self.paired.borrow().shut_out {
            return "this device was shut out of the shop".to_owned();
        }
        let away = self.away.borrow();
        let Some(trouble) = &*away else {
            return "not tried".to_owned();
        };
        let paired = self.paired.borrow();
        let short = words::cause(trouble.cause, &paired.host);
        if self.is_verbose.get() {
            return format!("{short} ({}: {})", paired.address(), trouble.what);
        }
        short.to_owned()
    }

    /// Notes that the shop is out of reach, where it was not yet.
    pub(crate) fn go_away(&self, why: String) {
        let lost = || Trouble::lost(why);
        self.away.borrow_mut().get_or_insert_with(lost);
    }

    /// The book on this very machine, while its service does not run.
    pub(crate) fn book_here(&self) -> Option<PathBuf> {
        let away = self.away.borrow();
        let is_down = away
            .as_ref()
            .is_some_and(|trouble| trouble.cause == Cause::NotRunning);
        let book = self.paired.borrow().book.clone();
        book.filter(|folder| is_down && crate::file::holds_something(folder))
    }

    /// Tells at length from now on why the shop is out of reach.
    pub(crate) fn tell_all(&self) {
        self.is_verbose.set(true);
    }

    /// Keeps from now on what the copy says is wrong.
    pub(crate) fn keep_all(&self) {
        self.keeps_all.set(true);
    }

    /// Whether what the copy says is wrong is kept.
    pub(super) fn keeps_all(&self) -> bool {
        self.keeps_all.get()
    }

    /// Notes that the copy refused a deed that could be kept all the same.
    pub(super) fn doubt(&self) {
        self.doubts.set(true);
    }

    /// Whether the copy refused a deed that could be kept all the same.
    pub(crate) fn doubts(&self) -> bool {
        self.doubts.get()
    }

    /// What this device holds of the shop.
    pub(crate) fn paired(&self) -> Paired {
        self.paired.borrow().clone()
    }

    /// Folder of the shop.
    pub(crate) fn folder(&self) -> &Path {
        &self.folder
    }

    /// The present moment.
    pub(crate) fn now(&self) -> Timestamp {
        clock::now(&self.clock)
    }

    /// Keeps a sentence for the person, once.
    pub(crate) fn say(&self, sentence: String) {
        let mut talk = self.talk.borrow_mut();
        if !sentence.is_empty() && !talk.contains(&sentence) {
            talk.push(sentence);
        }
    }

    /// The sentences that were not told yet.
    pub(crate) fn take_talk(&self) -> Vec<String> {
        std::mem::take(&mut *self.talk.borrow_mut())
    }

    /// That the shop is needed and why it cannot be reached.
    pub(crate) fn needs_shop(&self) -> Fault {
        let is_here = self.book_here().is_some();
        Fault::needs_shop(&self.told_away(), is_here)
    }

    /// How the copy stands, without opening it.
    pub(crate) fn copy_standing(&self) -> Option<SoloCopy> {
        let found = self.solo.copy_standing(&folder::copy(&self.folder));
        found.unwrap_or_default()
    }

    fn has_copy(&self) -> bool {
        self.copy_standing().is_some()
    }

    /// The copy with everything that waits imagined on it; `outbox` where that is open already.
    pub(super) async fn copy(&self, outbox: Option<&[Deed]>) -> Option<&OpenCopy> {
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
    pub(super) fn kept_requests(&self) -> Result<BTreeSet<String>, NotKept> {
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
        };
        let asked = call::once(wire, asked).await;
        let book: GetBookResponse = asked.map_err(|status| self.broken(status))?;
        if book.book_id.is_empty() {
            return Err(Fault::answer("the book"));
        }
        self.take_role(role_word(book.caller_role()))?;
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
        let may_less = rank(role) < rank(&copied);
        let is_known = role == paired.role && !paired.shut_out && !may_less;
        if role.is_empty() || is_known {
            return Ok(());
        }
        paired.copied_role = copied;
        role.clone_into(&mut paired.role);
        paired.shut_out = false;
        paired.copy_goes = may_less;
        folder::write(&self.folder, &paired)
            .map_err(|error| Fault::file(&self.folder.display().to_string(), &error))?;
        if may_less {
            take_copy_away(&self.folder, &mut paired)?;
            self.say(words::may_less(&paired.role));
        }
        Ok(())
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
            .and_then(|()| take_copy_away(&self.folder, &mut paired));
        self.say(words::shut_out(gone.as_ref().err()));
    }

    /// What to say of a question that was not answered: that the shop is out of reach now, or what it
    /// refused.
    fn broken(&self, status: Status) -> Fault {
        self.take_bar(&status);
        if delivery::judge(&status) != Judged::OutOfReach {
            return Fault::from(status);
        }
        let why = delivery::why(&status);
        self.go_away(why);
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

    /// Lets go of the copy, and of what was heard.
    pub(crate) async fn close(&self) {
        self.heed();
        if let Some(Some(copy)) = self.copy.get() {
            copy.close().await;
        }
    }
}

/// Takes the copy away, which has what this device may not see any more; then that it has to go is
/// forgotten.
fn take_copy_away(folder: &Path, paired: &mut Paired) -> Result<(), Fault> {
    let failed = |error| Fault::file(&folder.display().to_string(), &error);
    match std::fs::remove_dir_all(folder::copy(folder)) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => return Err(failed(error)),
        _ => {}
    }
    paired.copy_goes = false;
    let role = paired.role.clone();
    paired.copied_role = role;
    folder::write(folder, paired).map_err(failed)
}

/// How much a role may, beside others.
fn rank(role: &str) -> usize {
    let roles = ["look", "work", "keep", "own"];
    let found = roles.iter().position(|word| *word == role);
    found.unwrap_or(0)
}

/// Ends what pairing could not: outbox and copy are those of the book that is paired. Gives what there
/// is to say of it.
fn settle(folder: &Path, book_id: &str, solo: &dyn Solo) -> Vec<String> {
    if other_books::is_settled(folder, book_id) {
        return Vec::new();
    }
    let must = other_books::is_of_another(folder, book_id);
    let settled = other_books::settle(folder, solo);
    // That the note could not be written yet matters to nobody while nothing else is here.
    if settled.is_err() && !must {
        return Vec::new();
    }
    words::settled(&settled)
}

/// Whether the copy may not know what the shop knows, so that only the shop can refuse it.
pub(super) fn is_unknown_here(status: &Status) -> bool {
    matches!(status.code(), Code::NotFound | Code::FailedPrecondition)
}

/// Whether the rpc at a path reads the book, so that a copy can answer it.
fn can_be_copied(path: &str) -> bool {
    rpc(path).is_some_and(|rpc| rpc.kind == CallKind::Reads)
}
