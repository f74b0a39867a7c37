//! The cabinet of a book in PostgreSQL: devices, codes and the authority there, what is of this machine
//! alone in a folder here.
//!
//! A paper is written over what this cabinet read, and over nothing else: of two machines that change one
//! at once the second is told. The authority's key is sealed before it leaves this machine, so that
//! whoever reads the tables has not got it.

use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use uuid::Uuid;

use super::PostgresStore;
use super::lanes::Lane;
use super::seal::Seal;
use super::session::{Over, Session};
use super::trouble::Trouble;
use crate::limits::{ACCESS_FILE_BYTES_MAX, ENGINE_WAIT_MAX};
use crate::store::{Cabinet, CabinetError, Paper, Turn};

/// Longest time to wait for whoever changes codes or certificates on another machine.
const TURN_WAIT_MAX: Duration = Duration::from_secs(30);

/// The cabinet of a book in PostgreSQL.
#[derive(Debug)]
pub(super) struct PostgresCabinet {
    store: PostgresStore,
    /// What is of this machine.
    here: Arc<dyn Cabinet>,
    seal: Seal,
    /// What was last seen of each paper: its version, or that there is none.
    seen: Mutex<Vec<(&'static str, Over)>>,
}

/// Where a paper is kept.
enum Place {
    /// With the book, as this kind.
    There(&'static str),
    /// On this machine.
    Here,
}

/// The service's note and its leaf are of the machine that serves the book; all others are of the book.
const fn place_of(paper: Paper) -> Place {
    match kind_of(paper) {
        Some(kind) => Place::There(kind),
        None => Place::Here,
    }
}

/// As which kind a paper is kept with the book; none for those of a machine.
pub(super) const fn kind_of(paper: Paper) -> Option<&'static str> {
    match paper {
        Paper::Devices => Some("device"),
        Paper::Codes => Some("code"),
        Paper::Authority => Some("authority"),
        Paper::AuthorityKey => Some("authority_key"),
        Paper::Service | Paper::Leaf | Paper::LeafKey => None,
    }
}

impl PostgresCabinet {
    pub(super) const fn new(store: PostgresStore, here: Arc<dyn Cabinet>, seal: Seal) -> Self {
        Self {
            store,
            here,
            seal,
            seen: Mutex::new(Vec::new()),
        }
    }

    /// Id of the book; none where there is none yet.
    fn book(&self) -> Result<Option<Uuid>, CabinetError> {
        let book = self.store.book();
        book.map_err(|error| self.failed("devices", "opened", error.to_string()))
    }

    /// The same, where something is to be done with it.
    fn some_book(&self, name: &str, action: &'static str) -> Result<Uuid, CabinetError> {
        let none = || self.failed(name, action, "there is no book yet".to_owned());
        self.book()?.ok_or_else(none)
    }

    fn failed(&self, name: &str, action: &'static str, why: String) -> CabinetError {
        CabinetError::Failed {
            path: format!("{name} in {}", self.store.engine.place()),
            action,
            why,
        }
    }

    /// What a paper may be written over: what was seen of it, or anything where nobody looked.
    fn seen(&self, kind: &'static str) -> Over {
        let seen = self.seen.lock().unwrap_or_else(PoisonError::into_inner);
        let known = seen.iter().find(|(known, _)| *known == kind);
        known.map_or(Over::Anything, |(_, over)| *over)
    }

    fn note_seen(&self, kind: &'static str, over: Over) {
        let mut seen = self.seen.lock().unwrap_or_else(PoisonError::into_inner);
        seen.retain(|(known, _)| *known != kind);
        seen.push((kind, over));
    }

    /// Whether what a write meant to put there is there, after its outcome was not known.
    fn is_there(
        &self,
        (book, kind): (Uuid, &'static str),
        bytes: &[u8],
    ) -> Result<Option<i64>, Trouble> {
        let engine = &self.store.engine;
        let read = engine.ask(
            Lane::Read(book),
            ENGINE_WAIT_MAX,
            move |session| async move { session.read_paper(book, kind).await },
        );
        Ok(read?
            .filter(|paper| paper.bytes == bytes)
            .map(|paper| paper.version))
    }
}

impl Cabinet for PostgresCabinet {
    fn open(&self) -> Result<(), CabinetError> {
        // Nobody need have served from here yet.
        let node = &self.store.node;
        std::fs::create_dir_all(node).map_err(|error| CabinetError::Failed {
            path: node.display().to_string(),
            action: "made",
            why: error.to_string(),
        })?;
        self.here.open()?;
        self.book().map(drop)
    }

    fn read(&self, paper: Paper) -> Result<Option<Vec<u8>>, CabinetError> {
        let kind = match place_of(paper) {
            Place::Here => return self.here.read(paper),
            Place::There(kind) => kind,
        };
        let Some(book) = self.book()? else {
            return Ok(None);
        };
        let engine = &self.store.engine;
        let read = engine.ask(
            Lane::Read(book),
            ENGINE_WAIT_MAX,
            move |session| async move { session.read_paper(book, kind).await },
        );
        let read = read.map_err(|trouble| self.failed(kind, "read", trouble.to_string()))?;
        let Some(found) = read else {
            self.note_seen(kind, Over::Nothing);
            return Ok(None);
        };
        self.note_seen(kind, Over::Version(found.version));
        if found.bytes.is_empty() {
            return Ok(None);
        }
        if paper != Paper::AuthorityKey {
            return Ok(Some(found.bytes));
        }
        let opened = self.seal.open(book, &found.bytes);
        opened
            .map(Some)
            .map_err(|error| self.failed(kind, "read", error.to_string()))
    }

    fn write(&self, paper: Paper, bytes: &[u8]) -> Result<(), CabinetError> {
        let kind = match place_of(paper) {
            Place::Here => return self.here.write(paper, bytes),
            Place::There(kind) => kind,
        };
        let book = self.some_book(kind, "written")?;
        if u64::try_from(bytes.len()).is_ok_and(|count| count > ACCESS_FILE_BYTES_MAX) {
            let why = format!("it would have more than {ACCESS_FILE_BYTES_MAX} bytes");
            return Err(self.failed(kind, "written", why));
        }
        let held = match paper {
            Paper::AuthorityKey => {
                let sealed = self.seal.close(book, bytes);
                sealed.map_err(|error| self.failed(kind, "written", error.to_string()))?
            }
            _ => bytes.to_vec(),
        };
        let (over, given) = (self.seen(kind), held.clone());
        let engine = &self.store.engine;
        let done = engine.ask(
            Lane::Write(book),
            ENGINE_WAIT_MAX,
            move |session| async move { session.write_paper((book, kind), &given, over).await },
        );
        let version = match done {
            Err(Trouble::Unknown(_)) => self.is_there((book, kind), &held),
            done => done,
        };
        match version.map_err(|trouble| self.failed(kind, "written", trouble.to_string()))? {
            Some(version) => {
                self.note_seen(kind, Over::Version(version));
                Ok(())
            }
            None => Err(CabinetError::Changed {
                path: self.place(paper),
            }),
        }
    }

    fn turn(&self) -> Result<Turn, CabinetError> {
        // On this machine first, so that one connection waits and not each thread's.
        let here = self.here.turn()?;
        let book = self.some_book("code", "locked")?;
        let engine = &self.store.engine;
        let failed = |trouble: Trouble| self.failed("code", "locked", trouble.to_string());
        let session: Arc<Session> = engine.own_session().map_err(failed)?;
        let turn = engine.ask_on(&session, TURN_WAIT_MAX, move |session| async move {
            session.turn(book).await
        });
        turn.map_err(failed)?;
        // The session ends with the turn, and its lock with it.
        Ok(Turn::with((here, session)))
    }

    fn place(&self, paper: Paper) -> String {
        match place_of(paper) {
            Place::Here => self.here.place(paper),
            Place::There(kind) => format!("{kind} in {}", self.store.engine.place()),
        }
    }
}
