//! Other stores, which keep the same lines: sled always, SQLite and PostgreSQL when they are built in.
//!
//! It serves the comparisons. Each is used as its own manual advises for durability and rate; none
//! may be held back.

#[cfg(feature = "others")]
mod postgres;
pub(crate) mod sled;
#[cfg(feature = "others")]
pub(crate) mod sqlite;

use std::path::Path;

#[cfg(feature = "others")]
use fettlebook_yard::engine::{Engine, Setting, own_engine};

use crate::Fault;
use crate::compare::{Ground, Named};
use crate::grouped::Grouped;

/// Title of SQLite.
pub(crate) const SQLITE: &str = "SQLite, WAL, FULL, grouped";

/// Titles of PostgreSQL with one connection: a bare insert, and a book that is kept there.
pub(crate) const ENGINE_BARE: &str = "PostgreSQL, one connection, grouped";
pub(crate) const ENGINE_BOOK: &str = "PostgreSQL, a book kept there, grouped";

/// Title of sled.
const SLED: &str = "sled, flush + fdatasync, grouped";

/// The other stores.
pub(crate) struct Others {
    #[cfg(feature = "others")]
    postgres: Option<Engine>,
}

#[cfg(feature = "others")]
impl Others {
    /// Starts what has to run by itself, and says what is left out.
    pub(crate) fn start(folder: &Path) -> Self {
        let postgres = own_engine(Setting {
            synced_in: Some(folder),
            ..Setting::default()
        });
        Self { postgres }
    }

    /// Each of them, empty.
    pub(crate) fn entrants(&self, ground: &Ground, callers: usize) -> Result<Vec<Named>, Fault> {
        let (runtime, line) = (ground.runtime, ground.line);
        let sqlite = sqlite::Table::create(&ground.folder.join("sqlite"))?;
        let mut entrants: Vec<Named> = vec![
            (SQLITE, Box::new(Grouped::start(runtime, line, sqlite)?)),
            sled_entrant(ground)?,
        ];
        if let Some(engine) = &self.postgres {
            entrants.extend(postgres::entrants(engine, ground, callers)?);
        }
        Ok(entrants)
    }
}

#[cfg(not(feature = "others"))]
impl Others {
    /// Says what is left out.
    pub(crate) fn start(_: &Path) -> Self {
        println!("SQLite and PostgreSQL are skipped: build with `--features others`.\n");
        Self {}
    }

    /// Each of them, empty.
    pub(crate) fn entrants(&self, ground: &Ground, _: usize) -> Result<Vec<Named>, Fault> {
        let Self {} = self;
        Ok(vec![sled_entrant(ground)?])
    }
}

fn sled_entrant(ground: &Ground) -> Result<Named, Fault> {
    let tree = sled::Tree::create(&ground.folder.join("sled"))?;
    let grouped = Grouped::start(ground.runtime, ground.line, tree)?;
    Ok((SLED, Box::new(grouped)))
}
