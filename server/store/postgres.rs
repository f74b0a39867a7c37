//! A book in PostgreSQL, which other machines share.
//!
//! The writer's right is a number in the book's row, its epoch: whoever wrote it last has it, and a group
//! counts only while it is still theirs. No clock decides. Beside it stands a lock of the session, which
//! the engine takes back when the session ends: it only tells who is there, so that nobody takes a book
//! from a process that goes on, and is never what a group rests on.
//!
//! The tables are in `sql/`. Whoever serves may add entries and may not change one.

mod arrival;
mod cabinet;
mod counts;
mod engine;
mod group;
mod hosts;
mod journal;
mod lanes;
mod mending;
mod office;
mod place;
mod proof;
mod reader;
mod right;
mod seal;
mod seen;
mod session;
mod several;
mod sql;
#[cfg(unix)]
#[cfg(test)]
mod tests;
mod trouble;

use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, OnceLock};
use std::thread;
use std::time::Instant;

use fettlebook_model::Seq;
use uuid::Uuid;

use super::folder::byte_count;
use super::{
    About, Asked, Cabinet, FolderStore, Holder, Identity, Moved, ShopLine, Space, Store,
    StoreError, WritersRight,
};
use crate::journal::{Chain, Head};
use crate::limits::{ENGINE_WAIT_MAX, LOCK_LOOK_EVERY};

pub(crate) use arrival::Arrival;
use cabinet::PostgresCabinet;
use engine::Engine;
use lanes::Lane;
pub(crate) use mending::DamagedBook;
use place::EngineUrl;
use right::PostgresRight;
use seal::Seal;
use trouble::Trouble;

pub use counts::EngineCounts;
pub use seen::{Claim, Listed, Right, Seen, Sessions};
pub(crate) use several::BookEnd;
pub use several::NamedBook;

/// Which book an engine keeps, and for whom.
#[derive(Debug, Clone, Copy)]
pub struct EngineBook<'a> {
    /// Where the engine is, as `postgres://ROLE@HOST/DATABASE`.
    pub url: &'a str,
    /// Certificates in PEM that its own may rest on; none for those that the system believes.
    pub authority: Option<&'a Path>,
    /// Folder for what this machine keeps for itself.
    pub node: &'a Path,
    /// Id of the book; none for the only one there is, or is to be begun.
    pub book: Option<Uuid>,
    /// Where clients reach this machine, for whoever asks another for the book.
    pub address: Option<&'a str>,
}

impl EngineBook<'_> {
    /// Its store.
    ///
    /// # Errors
    /// When the address is none, the engine cannot be reached or used, or its tables are not those that this
    /// program knows.
    pub fn store(&self) -> Result<PostgresStore, StoreError> {
        let store = PostgresStore::of(self.engine()?, self.node.to_owned(), self.book);
        let address = self.address.map(str::to_owned);
        Ok(PostgresStore { address, ..store })
    }

    /// Brings a book there whose lines come from elsewhere. It is called so where it was never there.
    ///
    /// # Errors
    /// Those of [`Self::store`]; when the book is there already, or another brings it.
    pub(crate) fn arrival(
        &self,
        identity: Identity,
        name: Option<&str>,
    ) -> Result<Arrival, StoreError> {
        Arrival::begin(self.engine()?, Seal::in_folder(self.node), identity, name)
    }

    /// Whether a book certainly came there as this life of it.
    ///
    /// # Errors
    /// When the engine does not tell.
    pub(crate) fn has_arrived(&self, identity: Identity) -> Result<bool, StoreError> {
        arrival::has_arrived(&*self.engine()?, identity)
    }

    /// Where that is, for people.
    ///
    /// # Errors
    /// When the address is none.
    pub(crate) fn place(&self) -> Result<String, StoreError> {
        Ok(self.read()?.shown().to_owned())
    }

    fn read(&self) -> Result<EngineUrl, StoreError> {
        EngineUrl::read(self.url, self.authority).map_err(|error| StoreError::Address {
            what: error.to_string(),
        })
    }

    fn engine(&self) -> Result<Arc<Engine>, StoreError> {
        Engine::at(self.read()?)
    }
}

/// A book in PostgreSQL, as one machine serves it.
#[derive(Debug, Clone)]
pub struct PostgresStore {
    engine: Arc<Engine>,
    /// What this machine keeps for itself: shelves, its certificate, the key that seals.
    node: PathBuf,
    /// Where clients reach this machine, for whoever asks another for the book.
    address: Option<String>,
    /// Id of the book; none for the only one there is, or is to be begun.
    asked: Option<Uuid>,
    /// The same once it is known.
    found: Arc<OnceLock<Uuid>>,
    /// Whether the right is taken from whoever may still be there.
    takes_over: bool,
    /// Whether it is one of many that are open here.
    is_one_of_many: bool,
}

/// How a book stands, as its row says.
#[derive(Debug, Clone)]
pub(super) struct Stands {
    pub(super) identity: Identity,
    pub(super) epoch: i64,
    /// Who has the right, as they said themselves.
    pub(super) holder: Option<String>,
    /// Bytes of all lines.
    pub(super) line_bytes: u64,
    /// Where it went, as whoever moved it said.
    pub(super) moved: Option<String>,
}

impl Stands {
    /// Refuses a book that went elsewhere, unless its move was cut off and somebody finds out about it.
    fn refuse_moved(&self, place: &str, mid_move: bool) -> Result<(), StoreError> {
        let Some(said) = &self.moved else {
            return Ok(());
        };
        let moved: Moved = serde_json::from_str(said).map_err(|error| StoreError::Engine {
            place: place.to_owned(),
            what: format!("where the book went cannot be read: {error}"),
        })?;
        if mid_move && !moved.arrived {
            return Ok(());
        }
        let place = format!("{place} ({})", self.identity.book_id);
        Err(StoreError::Moved { place, moved })
    }
}

impl PostgresStore {
    /// The book with this id, or the only one there is, on a machine that keeps its own in a folder.
    fn of(engine: Arc<Engine>, node: PathBuf, asked: Option<Uuid>) -> Self {
        Self {
            engine,
            node,
            address: None,
            asked,
            found: Arc::default(),
            takes_over: false,
            is_one_of_many: false,
        }
    }

    /// The same for whoever found that the holder is silent: the lock that tells who is there keeps nobody
    /// out then, and the epoch alone decides.
    #[must_use]
    pub fn taking_over(self) -> Self {
        Self {
            takes_over: true,
            ..self
        }
    }

    /// Where the engine is, for people.
    pub fn place(&self) -> &str {
        self.engine.place()
    }

    /// Another book of the same engine, on this machine. Whether it is there is not looked at yet.
    #[must_use]
    pub fn of_book(&self, book: Uuid) -> Self {
        Self {
            asked: Some(book),
            found: Arc::new(OnceLock::from(book)),
            takes_over: false,
            ..self.clone()
        }
    }

    /// The same where many others are open beside it.
    #[must_use]
    pub fn among_many(self) -> Self {
        Self {
            is_one_of_many: true,
            ..self
        }
    }

    /// Begins the first book there, unless there is one; gives the id of the one that is there.
    ///
    /// # Errors
    /// When the engine does not answer, or there are several.
    pub fn first(&self, new: Uuid) -> Result<Uuid, StoreError> {
        match self.book()? {
            Some(book) => Ok(book),
            None => self.begin(new),
        }
    }

    /// What was counted of the engine up to now.
    pub fn engine_counts(&self) -> EngineCounts {
        self.engine.counts()
    }

    /// Id of the book; none where there is none yet.
    fn book(&self) -> Result<Option<Uuid>, StoreError> {
        if let Some(book) = self.found.get() {
            return Ok(Some(*book));
        }
        let asked = self.asked;
        let books = self
            .engine
            .ask(Lane::Any, ENGINE_WAIT_MAX, move |session| async move {
                session.books(asked).await
            });
        match books
            .map_err(|trouble| self.unreached(&trouble))?
            .as_slice()
        {
            [] => match asked {
                Some(book) => Err(StoreError::NoSuchBook {
                    place: self.engine.place().to_owned(),
                    book,
                }),
                None => Ok(None),
            },
            [book] => Ok(Some(*self.found.get_or_init(|| *book))),
            _ => Err(StoreError::Several {
                place: self.engine.place().to_owned(),
            }),
        }
    }

    /// How the book stands; none where it is not there any more.
    fn stands(&self, book: Uuid) -> Result<Option<Stands>, StoreError> {
        let look = self.engine.look(book);
        look.map_err(|trouble| self.unreached(&trouble))
    }

    /// Begins a book, unless another has begun one meanwhile; gives the id of the one that is there.
    fn begin(&self, new: Uuid) -> Result<Uuid, StoreError> {
        let begun = self
            .engine
            .ask(Lane::Any, ENGINE_WAIT_MAX, move |session| async move {
                session.begin(new).await
            });
        begun.map_err(|trouble| self.unreached(&trouble))?;
        self.book()?.ok_or_else(|| StoreError::Engine {
            place: self.engine.place().to_owned(),
            what: "the book that was begun there is gone".to_owned(),
        })
    }

    /// Takes the right from whoever gave it back or is there no more; none where another was quicker.
    fn take_over(&self, book: Uuid, asked: &Asked) -> Result<Option<PostgresRight>, StoreError> {
        let Some(stands) = self.stands(book)? else {
            return Ok(None);
        };
        stands.refuse_moved(self.engine.place(), asked.mid_move)?;
        let holder = Holder {
            process: std::process::id(),
            since: asked.now,
            address: self.address.clone(),
            right: Some(Uuid::now_v7()),
            node: Some(self.engine.node()),
        };
        let said = serde_json::to_string(&holder).map_err(|error| StoreError::Engine {
            place: self.engine.place().to_owned(),
            what: error.to_string(),
        })?;
        let (epoch, holder) = (stands.epoch, said.clone());
        let taken = self.engine.ask(
            Lane::Write(book),
            ENGINE_WAIT_MAX,
            move |session| async move { session.take_over(book, epoch, &holder).await },
        );
        let held = match taken {
            Ok(Some(held)) => held,
            Ok(None) => return Ok(None),
            // Whether it was taken is not known. What was said is this attempt's alone, so that settling
            // finds out, and takes it for certain where it was.
            Err(Trouble::Unknown(_)) => match self.engine.settle(book, &said) {
                Ok(Some(held)) => held,
                Ok(None) => return Ok(None),
                Err(trouble) => return Err(self.unreached(&trouble)),
            },
            Err(trouble) => return Err(self.unreached(&trouble)),
        };
        Ok(Some(PostgresRight {
            engine: Arc::clone(&self.engine),
            book,
            identity: stands.identity,
            holder: said,
            held,
        }))
    }

    /// The right, as [`Store::take`] gives it.
    fn take_right(&self, asked: &Asked) -> Result<PostgresRight, StoreError> {
        let book = self.first(asked.new_book_id)?;
        let start = Instant::now();
        loop {
            if self.may_take(book)? {
                match self.take_over(book, asked) {
                    Ok(Some(right)) => return Ok(right),
                    Ok(None) => self.engine.be_gone(book),
                    Err(error) => {
                        self.engine.be_gone(book);
                        return Err(error);
                    }
                }
            }
            if start.elapsed() >= asked.wait {
                let stands = self.stands(book)?;
                let said = stands.and_then(|stands| stands.holder);
                return Err(StoreError::InUse {
                    place: self.engine.place().to_owned(),
                    holder: said.and_then(|said| serde_json::from_str(&said).ok()),
                });
            }
            thread::sleep(LOCK_LOOK_EVERY);
        }
    }

    /// Whether nobody else is there, or whoever is has been silent for long enough.
    fn may_take(&self, book: Uuid) -> Result<bool, StoreError> {
        let is_free = self.engine.be_there(book);
        let is_free = is_free.map_err(|trouble| self.unreached(&trouble))?;
        if !is_free && self.takes_over {
            let told = self.engine.be_there_later(book);
            told.map_err(|trouble| self.unreached(&trouble))?;
        }
        Ok(is_free || self.takes_over)
    }

    /// Gives what kept the engine from answering its place.
    fn unreached(&self, trouble: &Trouble) -> StoreError {
        StoreError::Engine {
            place: self.engine.place().to_owned(),
            what: trouble.to_string(),
        }
    }
}

impl Store for PostgresStore {
    fn identity(&self) -> Result<Option<Identity>, StoreError> {
        let Some(book) = self.book()? else {
            return Ok(None);
        };
        let Some(stands) = self.stands(book)? else {
            return Ok(None);
        };
        stands.refuse_moved(self.engine.place(), false)?;
        Ok(Some(stands.identity))
    }

    fn take(&self, asked: &Asked) -> Result<Box<dyn WritersRight>, StoreError> {
        Ok(Box::new(self.take_right(asked)?))
    }

    fn note(&self, about: About) -> io::Result<Option<Vec<u8>>> {
        let book = self.book().map_err(io::Error::other)?;
        let Some(book) = book else {
            return Ok(None);
        };
        let note = self
            .engine
            .note(book, about.kind())
            .map_err(io::Error::other)?;
        Ok(note.filter(|note| !note.is_empty()))
    }

    fn keep_note(&self, about: About, text: &[u8]) -> io::Result<()> {
        let book = self.book().map_err(io::Error::other)?;
        let book = book.ok_or_else(|| io::Error::other("there is no book yet"))?;
        let kept = self.engine.keep_note(book, about.kind(), text.to_vec());
        kept.map_err(io::Error::other)
    }

    fn cabinet(&self) -> Arc<dyn Cabinet> {
        Arc::new(PostgresCabinet::new(
            self.clone(),
            FolderStore::at(&self.node).cabinet(),
            Seal::in_folder(&self.node),
        ))
    }

    fn space(&self) -> Space {
        let stands = self.book().ok().flatten();
        let stands = stands.and_then(|book| self.stands(book).ok().flatten());
        Space {
            journal_bytes: stands.map_or(0, |stands| stands.line_bytes),
            shelf_bytes: byte_count(&self.shelf_folder()),
            free_bytes: None,
            size_bytes: None,
        }
    }

    fn is_one_of_many(&self) -> bool {
        self.is_one_of_many
    }

    fn shelf_folder(&self) -> PathBuf {
        let shelves = shelves(&self.node);
        match self.found.get().or(self.asked.as_ref()) {
            Some(book) => shelves.join(book.to_string()),
            None => shelves,
        }
    }

    fn shops(&self, after: Option<Uuid>, count: usize) -> io::Result<Option<Vec<ShopLine>>> {
        let count = i64::try_from(count).unwrap_or(i64::MAX);
        let lines = self
            .engine
            .ask(Lane::Office, ENGINE_WAIT_MAX, move |session| async move {
                session.shops(after, count).await
            });
        Ok(Some(lines?))
    }
}

/// Where a machine has its shelves.
fn shelves(node: &Path) -> PathBuf {
    node.join("shelf")
}

/// How much room the shelves of all books take on a machine.
pub fn shelves_space(node: &Path) -> Space {
    Space {
        shelf_bytes: byte_count(&shelves(node)),
        ..Space::default()
    }
}

impl About {
    /// What it is called in the table of notes.
    const fn kind(self) -> &'static str {
        match self {
            Self::Damage => "damage",
            Self::Upkeep => "upkeep",
        }
    }
}

/// What makes the roles, run before the tables are made.
const ROLES: &str = include_str!("postgres/sql/roles.sql");

/// What each role may do, run once the tables are made.
const RIGHTS: &str = include_str!("postgres/sql/rights.sql");

/// What makes each version of the tables out of the one before.
const MIGRATIONS: [(i32, &str); 4] = [
    (1, include_str!("postgres/sql/0001_begin.sql")),
    (2, include_str!("postgres/sql/0002_moved.sql")),
    (3, include_str!("postgres/sql/0003_office.sql")),
    (
        sql::SCHEMA_VERSION,
        include_str!("postgres/sql/0004_codes.sql"),
    ),
];

/// What makes the roles, and the tables from a version on: all of it or nothing.
pub fn tables(from: i32) -> String {
    let missing = MIGRATIONS.iter().filter(|(version, _)| *version > from);
    let made: Vec<&str> = missing.map(|(_, made)| *made).collect();
    format!(
        "BEGIN;\n{ROLES}\nSET LOCAL ROLE fettle_owner;\n{}\nRESET ROLE;\n{RIGHTS}\nCOMMIT;\n",
        made.join("\n")
    )
}

/// A number as the engine knows numbers. No book comes near the end of them.
pub(super) fn number(value: u64) -> i64 {
    i64::try_from(value).unwrap_or(i64::MAX)
}

/// A number of the engine; one below nothing is none that was ever put there.
pub(super) fn count(value: i64) -> u64 {
    u64::try_from(value).unwrap_or_default()
}

/// Where a journal ends, as the engine says it; nothing where that is no chain value.
pub(super) fn head(seq: i64, chain: &str) -> Option<Head> {
    Some(Head {
        seq: Seq(count(seq)),
        chain: Chain::from_digits(chain.as_bytes())?,
    })
}
