//! The way to a shop: to its service while that can be reached, else to what this device holds.
//!
//! It serves every command in a shop. Reads are answered by the copy when there is no signal, and it
//! is said so; what happens to the kit is kept; everything else needs the shop. Once the shop is out
//! of reach it stays so for the rest of a command, so that nobody waits twice.

use std::cell::{Cell, RefCell};
use std::path::{Path, PathBuf};
use std::rc::Rc;

use fettlebook_contract::call::{Keepable, rpc};
use fettlebook_contract::v1::{CallKind, DeviceOutbox, GetBookResponse};
use jiff::Timestamp;
use prost::bytes::Bytes;
use tokio::sync::OnceCell;
use tonic::body::Body;
use tonic::codegen::{StdError, http};
use tonic::{Code, Status};

use crate::clock;
use crate::fault::Fault;
use crate::fault::root_cause;
use crate::outbox::keepable::only_looks;
use crate::render::shop as words;
use crate::shop::folder::{self, Paired};
use crate::shop::may_less;
use crate::shop::other_books;
use crate::shop::trouble::{Cause, Trouble};
use crate::shop::wire::Wire;
use crate::solo::{Solo, SoloClock};
use crate::transport::copy::OpenCopy;
use crate::transport::raw;

mod held;
mod standing;

/// Tries of a read before the copy answers it: the second makes the connection anew.
const READ_TRIES: usize = 2;

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
        if paired.copy_goes || may_less(&paired.role, paired.role_of_copy()) {
            folder::take_copy_away(folder, &mut paired)?;
        }
        let target = paired.target().ok_or_else(|| {
            let mut fault = Fault::usage(
                "--shop",
                format!("The certificate kept in {} is damaged.", folder.display()),
            );
            fault.todo = "Pair this device again with 'fettle shop pair CODE --again'.".to_owned();
            fault
        })?;
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
                    Err(error) if tries_left == 0 => {
                        self.go_away(Trouble::lost(root_cause(&*error)))
                    }
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
    pub(crate) fn go_away(&self, trouble: Trouble) {
        let held = self.wire.as_ref().and_then(Wire::held_elsewhere);
        let lost = || match held {
            Some(held) => Trouble::new(Cause::Elsewhere, held.told()),
            None => trouble,
        };
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

    /// Lets go of the copy, and of what was heard.
    pub(crate) async fn close(&self) {
        self.heed();
        if let Some(Some(copy)) = self.copy.get() {
            copy.close().await;
        }
    }
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
