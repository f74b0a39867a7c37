//! The copy of a shop's book on this device: opened when there is no signal, brought up when there is.
//!
//! It serves looking without signal. What waits is imagined on it first, so that it says how things
//! stand here; nothing of that is ever written, and the copy is never taken for the book.

use std::cell::{Cell, RefCell};
use std::future::Future;
use std::path::Path;

use fettlebook_contract::v1::{CopyEntriesResponse, GetBookResponse};
use jiff::Timestamp;
use prost::bytes::Bytes;
use tonic::transport::Channel;

use crate::fault::Fault;
use crate::outbox::Deed;
use crate::shop::role_word;
use crate::solo::{Local, Solo, SoloCopy, SoloCopyOf};
use crate::transport::raw;

/// A copy that is open.
pub(crate) struct OpenCopy {
    /// The way to it.
    pub(crate) channel: Channel,
    /// How it stands.
    pub(crate) standing: SoloCopy,
    /// The last deed that was imagined on it.
    imagined: Cell<i64>,
    finish: RefCell<Option<Local<'static, ()>>>,
}

impl OpenCopy {
    /// Opens the copy in a folder; nothing when there is none.
    ///
    /// # Errors
    /// When it cannot be read.
    pub(crate) async fn open(solo: &dyn Solo, folder: &Path) -> Result<Option<Self>, Fault> {
        let Some(standing) = solo.copy_standing(folder)? else {
            return Ok(None);
        };
        let opened = solo.open_copy(folder).await?;
        Ok(Some(Self {
            channel: opened.channel,
            standing,
            imagined: Cell::new(0),
            finish: RefCell::new(Some(opened.finish)),
        }))
    }

    /// Imagines deeds that wait, in order. One that it refuses changes nothing here; the shop decides.
    pub(crate) async fn imagine(&self, waiting: &[Deed]) {
        for deed in waiting {
            if deed.number > self.imagined.get() {
                let body = Bytes::from(deed.body.clone());
                let _ = raw::unary(self.channel.clone(), &deed.method, body).await;
                self.imagined.set(deed.number);
            }
        }
    }

    /// Says that a deed was imagined by itself.
    pub(crate) fn has_imagined(&self, number: i64) {
        self.imagined.set(number);
    }

    /// Lets go of it.
    pub(crate) async fn close(&self) {
        let finish = self.finish.borrow_mut().take();
        if let Some(finish) = finish {
            finish.await;
        }
    }
}

/// Brings the copy up to where the book stands. One of another life of the book, or with prices that
/// may not be seen any more, begins anew. `page` asks the shop for the entries after one.
///
/// # Errors
/// What the shop refuses, or the disk.
pub(crate) async fn bring_up<F>(
    page: impl Fn(i64) -> F,
    solo: &dyn Solo,
    folder: &Path,
    book: &GetBookResponse,
    role_changed: bool,
) -> Result<SoloCopy, Fault>
where
    F: Future<Output = Result<CopyEntriesResponse, Fault>>,
{
    let standing = solo.copy_standing(folder)?;
    let goes_on = standing.filter(|copy| {
        let same_life = copy.book_id == book.book_id && copy.incarnation_id == book.incarnation_id;
        same_life && copy.head_seq <= book.head_seq && !role_changed
    });
    let mut after_seq = match goes_on {
        Some(copy) => copy.head_seq,
        None => begin_anew(folder)?,
    };
    for _ in 0..PAGES_MAX {
        let page = page(after_seq).await?;
        let of = SoloCopyOf {
            book_id: page.book_id,
            incarnation_id: page.incarnation_id,
            caller: book.caller.clone(),
            role: role_word(book.caller_role()).to_owned(),
            as_of_time: moment(page.as_of_time)?,
        };
        let copy = solo.extend_copy(folder, &of, &page.entries)?;
        if copy.head_seq >= page.head_seq {
            return Ok(copy);
        }
        after_seq = copy.head_seq;
    }
    Err(Fault::answer("an end"))
}

/// Most pages of a copy, each up to 8 MiB: far above any book.
const PAGES_MAX: usize = 10_000;

/// Throws the copy away; it can be had again. Gives the entry to begin after.
fn begin_anew(folder: &Path) -> Result<i64, Fault> {
    match std::fs::remove_dir_all(folder) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
            Err(Fault::file(&folder.display().to_string(), &error))
        }
        _ => Ok(0),
    }
}

fn moment(stamp: Option<prost_types::Timestamp>) -> Result<Timestamp, Fault> {
    stamp
        .and_then(|stamp| Timestamp::new(stamp.seconds, stamp.nanos).ok())
        .ok_or_else(|| Fault::answer("when it was answered"))
}
