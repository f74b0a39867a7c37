//! The engine: a handful of sessions that all books of a process share, and how they are waited for.
//!
//! Stores are not async, and whoever calls one may be a thread of its own or one that drives tasks. So
//! sessions are driven by a small runtime here, and whoever asks waits for a channel.

use std::future::Future;
use std::sync::mpsc::sync_channel;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use tokio::runtime::{Builder, Runtime};
use tokio::time::timeout;
use uuid::Uuid;

use super::counts::{Counts, EngineCounts};
use super::lanes::{Lane, Lanes};
use super::place::EngineUrl;
use super::session::{Held, Schema, Session};
use super::trouble::{Trouble, no_answer, told};
use super::{Stands, sql};
use crate::limits::{ENGINE_CONNECT_WAIT_MAX, ENGINE_WAIT_MAX};
use crate::store::StoreError;

/// An engine that answers, with tables that this program knows.
#[derive(Debug)]
pub(crate) struct Engine {
    /// None only while it ends.
    runtime: Option<Runtime>,
    lanes: Arc<Lanes>,
    /// Has the turn to say who is there, one after the other: a session counts how often it has a lock.
    turn: Mutex<()>,
}

impl Engine {
    /// Comes to the engine, and looks whether its tables are those that this program knows.
    ///
    /// # Errors
    /// When it cannot be reached, or its tables are missing or of a later program.
    pub(crate) fn at(url: EngineUrl) -> Result<Arc<Self>, StoreError> {
        let place = url.shown().to_owned();
        let failed = |what: String| StoreError::Engine {
            place: place.clone(),
            what,
        };
        let runtime = Builder::new_multi_thread()
            .worker_threads(1)
            .thread_name("engine")
            .enable_all()
            .build()
            .map_err(|error| failed(error.to_string()))?;
        let engine = Arc::new(Self {
            runtime: Some(runtime),
            lanes: Arc::new(Lanes::to(url)),
            turn: Mutex::default(),
        });
        let lanes = Arc::clone(&engine.lanes);
        let asked = engine.wait(async move {
            let asked = timeout(ENGINE_CONNECT_WAIT_MAX, Session::schema(&lanes.url)).await;
            asked.unwrap_or_else(|_| Err(Trouble::Unreached(no_answer(ENGINE_CONNECT_WAIT_MAX))))
        });
        let (schema, is_synced) = asked.map_err(|trouble| failed(trouble.to_string()))?;
        if !is_synced {
            tracing::warn!(
                place,
                "the engine has fsync off: a loss of power takes what it acknowledged"
            );
        }
        match schema {
            Schema::Missing => Err(StoreError::NoTables { place }),
            Schema::Version(sql::SCHEMA_VERSION) => Ok(engine),
            Schema::Version(found) if found < sql::SCHEMA_VERSION => Err(StoreError::OlderTables {
                place,
                found,
                known: sql::SCHEMA_VERSION,
            }),
            Schema::Version(found) => Err(StoreError::NewerTables {
                place,
                found,
                known: sql::SCHEMA_VERSION,
            }),
        }
    }

    /// Where it is, for people.
    pub(crate) fn place(&self) -> &str {
        self.lanes.url.shown()
    }

    /// Asks something on a session, and waits so long for the answer.
    pub(super) fn ask<T, F>(
        &self,
        lane: Lane,
        wait: Duration,
        work: impl FnOnce(Arc<Session>) -> F + Send + 'static,
    ) -> Result<T, Trouble>
    where
        T: Send + 'static,
        F: Future<Output = Result<T, tokio_postgres::Error>> + Send + 'static,
    {
        self.wait(answered_on(Arc::clone(&self.lanes), lane, wait, work))
    }

    /// Asks something on a session without holding a thread while its answer is waited for.
    pub(super) async fn ask_beside<T, F>(
        &self,
        lane: Lane,
        wait: Duration,
        work: impl FnOnce(Arc<Session>) -> F + Send + 'static,
    ) -> Result<T, Trouble>
    where
        T: Send + 'static,
        F: Future<Output = Result<T, tokio_postgres::Error>> + Send + 'static,
    {
        let runtime = self.runtime.as_ref().ok_or_else(ending)?;
        let asked = runtime.spawn(answered_on(Arc::clone(&self.lanes), lane, wait, work));
        asked.await.map_err(|_| broken_off())?
    }

    /// A session that nobody else uses, for as long as it is kept.
    pub(super) fn own_session(&self) -> Result<Arc<Session>, Trouble> {
        let lanes = Arc::clone(&self.lanes);
        self.wait(async move { lanes.open().await })
    }

    /// Asks something on a session of one's own.
    pub(super) fn ask_on<T, F>(
        &self,
        session: &Arc<Session>,
        wait: Duration,
        work: impl FnOnce(Arc<Session>) -> F + Send + 'static,
    ) -> Result<T, Trouble>
    where
        T: Send + 'static,
        F: Future<Output = Result<T, tokio_postgres::Error>> + Send + 'static,
    {
        let (lanes, session) = (Arc::clone(&self.lanes), Arc::clone(session));
        self.wait(async move { answered(&lanes.counts, session, wait, work).await })
    }

    /// Drives something to its end and waits for it, on whatever thread this is.
    fn wait<T: Send + 'static>(
        &self,
        work: impl Future<Output = Result<T, Trouble>> + Send + 'static,
    ) -> Result<T, Trouble> {
        let runtime = self.runtime.as_ref().ok_or_else(ending)?;
        let (reply, answer) = sync_channel(1);
        runtime.spawn(async move { reply.send(work.await) });
        answer.recv().map_err(|_| broken_off())?
    }

    pub(super) fn look(&self, book: Uuid) -> Result<Option<Stands>, Trouble> {
        self.ask(
            Lane::Read(book),
            ENGINE_WAIT_MAX,
            move |session| async move { session.look(book).await },
        )
    }

    /// The right under its next number, with what the journal certainly ends with; none where it is
    /// another's by now.
    pub(super) fn settle(&self, book: Uuid, holder: &str) -> Result<Option<Held>, Trouble> {
        let holder = holder.to_owned();
        let settled = self.ask(
            Lane::Write(book),
            ENGINE_WAIT_MAX,
            move |session| async move { session.settle(book, &holder).await },
        )?;
        self.lanes.counts.settled();
        Ok(settled)
    }

    /// What was counted of it up to now.
    pub(super) fn counts(&self) -> EngineCounts {
        self.lanes.counts.now()
    }

    pub(super) fn note(&self, book: Uuid, about: &'static str) -> Result<Option<Vec<u8>>, Trouble> {
        self.ask(
            Lane::Read(book),
            ENGINE_WAIT_MAX,
            move |session| async move { session.note(book, about).await },
        )
    }

    pub(super) fn keep_note(
        &self,
        book: Uuid,
        about: &'static str,
        bytes: Vec<u8>,
    ) -> Result<(), Trouble> {
        self.ask(
            Lane::Write(book),
            ENGINE_WAIT_MAX,
            move |session| async move { session.keep_note(book, about, &bytes).await },
        )
    }

    /// Id of this run of the process, which its sessions have too.
    pub(super) fn node(&self) -> Uuid {
        self.lanes.url.node()
    }

    /// Says that this process is there at a book, though another may still have the lock that tells so: it is
    /// asked for until it is given.
    pub(super) fn be_there_later(&self, book: Uuid) -> Result<(), Trouble> {
        let _turn = self.turn.lock().unwrap_or_else(PoisonError::into_inner);
        let lanes = Arc::clone(&self.lanes);
        self.wait(async move {
            let session = lanes.session(Lane::Write(book)).await?;
            lanes.there().insert(book);
            lanes.be_there_later(&session, book);
            Ok(())
        })
    }

    /// Whether nobody was there at a book, and this process is now.
    pub(super) fn be_there(&self, book: Uuid) -> Result<bool, Trouble> {
        let _turn = self.turn.lock().unwrap_or_else(PoisonError::into_inner);
        if self.lanes.there().contains(&book) {
            return Ok(false);
        }
        let asked = self.ask(
            Lane::Write(book),
            ENGINE_WAIT_MAX,
            move |session| async move { session.be_there(book).await },
        );
        let is_there = asked?;
        if is_there {
            self.lanes.there().insert(book);
        }
        Ok(is_there)
    }

    /// Lets others know that this process is there no more. Where they cannot be told, they find out when
    /// the session ends.
    pub(super) fn be_gone(&self, book: Uuid) {
        let _turn = self.turn.lock().unwrap_or_else(PoisonError::into_inner);
        if !self.lanes.there().remove(&book) {
            return;
        }
        let told = self.ask(
            Lane::Write(book),
            ENGINE_WAIT_MAX,
            move |session| async move { session.be_gone(book).await },
        );
        if let Err(error) = told {
            tracing::warn!(%error, "the engine was not told that a book was let go");
        }
    }
}

/// Nothing is asked any more: the engine is let go of.
fn ending() -> Trouble {
    Trouble::Unreached("the service ends".to_owned())
}

/// Whoever drove what was asked is gone.
fn broken_off() -> Trouble {
    Trouble::Unknown("the program broke off".to_owned())
}

/// What the session of a lane answers in time, and for certain.
async fn answered_on<T, F>(
    lanes: Arc<Lanes>,
    lane: Lane,
    wait: Duration,
    work: impl FnOnce(Arc<Session>) -> F,
) -> Result<T, Trouble>
where
    F: Future<Output = Result<T, tokio_postgres::Error>>,
{
    let session = lanes.session(lane).await?;
    answered(&lanes.counts, session, wait, work).await
}

/// What a session answers in time, and for certain.
async fn answered<T, F>(
    counts: &Counts,
    session: Arc<Session>,
    wait: Duration,
    work: impl FnOnce(Arc<Session>) -> F,
) -> Result<T, Trouble>
where
    F: Future<Output = Result<T, tokio_postgres::Error>>,
{
    let warned = session.warning_count();
    let answer = match timeout(wait, work(Arc::clone(&session))).await {
        Err(_) => {
            session.give_up();
            Err(Trouble::Unknown(no_answer(wait)))
        }
        Ok(Err(error)) => Err(told(&error)),
        // Somebody ended its wait for a standby: it counts here, and perhaps nowhere else.
        Ok(Ok(_)) if session.warning_count() != warned => Err(Trouble::Unknown(
            "the engine warned of something".to_owned(),
        )),
        Ok(Ok(answer)) => Ok(answer),
    };
    counts.asked(&answer);
    answer
}

impl Drop for Engine {
    /// Whoever lets go last may drive tasks, and must not wait.
    fn drop(&mut self) {
        if let Some(runtime) = self.runtime.take() {
            runtime.shutdown_background();
        }
    }
}
