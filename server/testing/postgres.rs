//! Books in a PostgreSQL of the tests' own, which does what it is told.
//!
//! What it is told stands in the engine itself (`postgres/told.sql`): triggers count groups, hold them up,
//! or fail them. The product knows nothing of it.

use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};

use fettlebook_yard::engine::{self, Session};
use tempfile::TempDir;

use super::stores::ToldStore;
use crate::store::{EngineBook, Store, tables};

/// Makes what a test tells the engine with.
const TOLD: &str = include_str!("postgres/told.sql");

/// Who the tests serve as. Several databases share one cluster, and so its roles.
pub(crate) const ROLE: &str = "
DO $$ BEGIN
    CREATE ROLE serving LOGIN INHERIT IN ROLE fettle_service;
EXCEPTION WHEN duplicate_object OR unique_violation THEN NULL; END $$;
";

/// A book in an engine that does what it is told.
#[derive(Debug)]
pub(crate) struct ToldPostgres {
    engine: &'static engine::Engine,
    database: String,
    node: TempDir,
    /// Has the lock that groups wait for.
    holding: Mutex<Option<Session>>,
}

/// Databases of tests that are over. To make one takes longer than most tests.
static DONE: Mutex<Vec<String>> = Mutex::new(Vec::new());

/// Makes a database empty again.
const EMPTY: &str = "
TRUNCATE fettle.book, fettle.entry, fettle.paper, fettle.note, fettle.answer, fettle.laid_out;
UPDATE told.orders SET passing = -1;
ALTER SEQUENCE told.appends RESTART; ALTER SEQUENCE told.syncs RESTART;
";

impl ToldPostgres {
    /// An empty one; none where the machine has no PostgreSQL.
    pub(crate) fn new() -> Option<Self> {
        let engine = engine::engine()?;
        let database = left(engine)
            .unwrap_or_else(|| engine.database(&[tables(0).as_str(), ROLE, TOLD].concat()));
        Some(Self {
            engine,
            database,
            node: tempfile::tempdir().unwrap(),
            holding: Mutex::default(),
        })
    }

    fn run(&self, sql: &str) {
        self.engine.run(&self.database, sql);
    }

    fn count(&self, sequence: &str) -> usize {
        let sql =
            format!("SELECT CASE WHEN is_called THEN last_value ELSE 0 END FROM told.{sequence}");
        self.engine.ask(&self.database, &sql).parse().unwrap()
    }

    fn fail_after(&self, what: &str, passing: i64) {
        self.run(&format!(
            "SELECT setval('told.{what}_seen', 1, false);
             UPDATE told.orders SET passing = {passing} WHERE what = '{what}'"
        ));
    }
}

/// A database that a test has left and that nobody speaks to any more, made empty.
fn left(engine: &engine::Engine) -> Option<String> {
    let mut done = DONE.lock().unwrap_or_else(PoisonError::into_inner);
    let quiet = |database: &String| {
        let spoken_to =
            format!("SELECT count(*) FROM pg_stat_activity WHERE datname = '{database}'");
        engine.ask("postgres", &spoken_to) == "0"
    };
    let place = done.iter().position(quiet)?;
    let database = done.swap_remove(place);
    engine.run(&database, EMPTY);
    Some(database)
}

impl Drop for ToldPostgres {
    fn drop(&mut self) {
        self.release();
        let mut done = DONE.lock().unwrap_or_else(PoisonError::into_inner);
        done.push(std::mem::take(&mut self.database));
    }
}

impl ToldStore for ToldPostgres {
    /// Each is another process to the engine: with sessions of its own.
    fn store(&self) -> Arc<dyn Store> {
        let url = self.engine.url("serving", &self.database);
        let book = EngineBook {
            url: &url,
            authority: None,
            node: self.node.path(),
            book: None,
            address: None,
        };
        Arc::new(book.store().unwrap())
    }

    fn lines(&self) -> String {
        let sql = "SELECT '{\"chain\":\"' || chain || '\",\"entry\":' || convert_from(bytes, 'UTF8') || '}'
                   FROM fettle.entry ORDER BY book, seq";
        self.engine.ask(&self.database, sql)
    }

    fn folder(&self) -> Option<&Path> {
        None
    }

    fn fail_append_after(&self, passing: i64) {
        self.fail_after("full", passing);
    }

    fn fail_sync_after(&self, passing: i64) {
        self.fail_after("cut", passing);
    }

    fn hold(&self) {
        let session = self.engine.session(&self.database);
        drop(session.ask("SELECT pg_advisory_lock(2201)"));
        *self.holding.lock().unwrap_or_else(PoisonError::into_inner) = Some(session);
    }

    fn release(&self) {
        self.holding
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .take();
    }

    fn append_count(&self) -> usize {
        self.count("appends")
    }

    fn sync_count(&self) -> usize {
        self.count("syncs")
    }
}
