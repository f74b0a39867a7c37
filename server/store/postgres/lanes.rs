//! The sessions that all books of a process share, each opened when it is first needed, and anew after it ended.

use std::collections::HashSet;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use tokio::sync::Mutex as AsyncMutex;
use tokio::time::{sleep, timeout};
use uuid::Uuid;

use super::counts::Counts;
use super::place::EngineUrl;
use super::session::Session;
use super::trouble::{Trouble, no_answer};
use crate::limits::ENGINE_CONNECT_WAIT_MAX;

/// Sessions on which books are written, so that a commit of one does not hold up all others.
const WRITE_LANES: usize = 4;

/// Sessions on which is read.
const READ_LANES: usize = 2;

/// How often the lock is asked for that another session still has.
const THERE_AGAIN_EVERY: Duration = Duration::from_secs(1);

/// On which session something is asked.
#[derive(Debug, Clone, Copy)]
pub(super) enum Lane {
    /// Whichever: it is asked once in a while.
    Any,
    /// What changes a book.
    Write(Uuid),
    /// What reads one.
    Read(Uuid),
    /// What is laid out for the office of all of them, and what nobody waits for else: no book waits for it.
    Office,
    /// Which books there are and whose they are: no book that is read or written holds it up.
    Look,
}

/// The sessions.
#[derive(Debug)]
pub(super) struct Lanes {
    pub(super) url: EngineUrl,
    write: [AsyncMutex<Option<Arc<Session>>>; WRITE_LANES],
    read: [AsyncMutex<Option<Arc<Session>>>; READ_LANES],
    office: AsyncMutex<Option<Arc<Session>>>,
    look: AsyncMutex<Option<Arc<Session>>>,
    pub(super) counts: Counts,
    /// The books that this process has the right to, or is about to: a session gives its own lock twice, and a
    /// new one has to take it again.
    there: Mutex<HashSet<Uuid>>,
}

impl Lanes {
    /// Those to an engine; none is opened yet.
    pub(super) fn to(url: EngineUrl) -> Self {
        Self {
            url,
            write: Default::default(),
            read: Default::default(),
            office: AsyncMutex::default(),
            look: AsyncMutex::default(),
            counts: Counts::default(),
            there: Mutex::default(),
        }
    }

    /// The session of a lane, opened anew where it ended.
    pub(super) async fn session(self: &Arc<Self>, lane: Lane) -> Result<Arc<Session>, Trouble> {
        let slot = match lane {
            Lane::Any => self.read.first(),
            Lane::Write(book) => self.write.get(place(book, WRITE_LANES)),
            Lane::Read(book) => self.read.get(place(book, READ_LANES)),
            Lane::Office => Some(&self.office),
            Lane::Look => Some(&self.look),
        };
        let Some(slot) = slot else {
            return Err(Trouble::Unreached("there is no session".to_owned()));
        };
        let mut held = slot.lock().await;
        if let Some(session) = held.as_ref().filter(|session| !session.is_over()) {
            return Ok(Arc::clone(session));
        }
        let session = self.open().await?;
        if let Lane::Write(book) = lane {
            self.be_there_again(&session, place(book, WRITE_LANES))
                .await;
        }
        *held = Some(Arc::clone(&session));
        Ok(session)
    }

    /// Tells others on a new session of a lane that this process is there still. What counts is the epoch, so
    /// that nothing rests on whether they hear of it. The session before may still have the lock, until the
    /// engine has noticed that nobody is behind it: so it is asked for again and again.
    async fn be_there_again(self: &Arc<Self>, session: &Arc<Session>, lane: usize) {
        let there: Vec<Uuid> = self.there().iter().copied().collect();
        for book in there
            .into_iter()
            .filter(|book| place(*book, WRITE_LANES) == lane)
        {
            if !is_there(session, book).await {
                self.be_there_later(session, book);
            }
        }
    }

    /// Asks for the lock of a book until it is given.
    pub(super) fn be_there_later(self: &Arc<Self>, session: &Arc<Session>, book: Uuid) {
        let (lanes, session) = (Arc::clone(self), Arc::clone(session));
        tokio::spawn(async move {
            let wanted = || !session.is_over() && lanes.there().contains(&book);
            while wanted() && !is_there(&session, book).await {
                sleep(THERE_AGAIN_EVERY).await;
            }
        });
    }

    /// The books at which this process is.
    pub(super) fn there(&self) -> MutexGuard<'_, HashSet<Uuid>> {
        self.there.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// One more session.
    pub(super) async fn open(&self) -> Result<Arc<Session>, Trouble> {
        // Whatever goes wrong here, nothing was asked yet.
        let opened = match timeout(ENGINE_CONNECT_WAIT_MAX, Session::open(&self.url)).await {
            Ok(opened) => opened.map(Arc::new),
            Err(_) => Err(Trouble::Unreached(no_answer(ENGINE_CONNECT_WAIT_MAX))),
        };
        self.counts.opened(&opened);
        opened
    }
}

/// Which of so many lanes is a book's.
fn place(book: Uuid, count: usize) -> usize {
    let place = book.as_u128() % (count as u128);
    usize::try_from(place).unwrap_or_default()
}

/// Whether a session has the lock that tells who is at a book, or got it now.
async fn is_there(session: &Session, book: Uuid) -> bool {
    matches!(
        timeout(ENGINE_CONNECT_WAIT_MAX, session.be_there(book)).await,
        Ok(Ok(true))
    )
}
