//! SQLite: a group is one transaction of one writer, with a prepared statement, a write-ahead log
//! and a sync at each commit.

use std::path::Path;

use rusqlite::{Connection, params};

use crate::Fault;
use crate::grouped::{Given, Store};

const TABLE: &str =
    "CREATE TABLE entry (seq INTEGER PRIMARY KEY, request BLOB UNIQUE, line BLOB) STRICT";

const INSERT: &str = "INSERT INTO entry (seq, request, line) VALUES (?1, ?2, ?3)";

/// A table of lines by their number and request.
pub(crate) struct Table {
    connection: Connection,
    seq: i64,
}

impl Table {
    /// An empty one.
    pub(crate) fn create(path: &Path) -> Result<Self, Fault> {
        let connection = Connection::open(path)?;
        connection.pragma_update(None, "journal_mode", "WAL")?;
        connection.pragma_update(None, "synchronous", "FULL")?;
        connection.execute(TABLE, [])?;
        Ok(Self { connection, seq: 0 })
    }

    /// Moves all from the write-ahead log into the table's own file.
    pub(crate) fn settle(&self) -> Result<(), Fault> {
        let into = "PRAGMA wal_checkpoint(TRUNCATE)";
        Ok(self.connection.query_row(into, [], |_| Ok(()))?)
    }
}

impl Store for Table {
    fn commit(&mut self, group: &[Given]) -> Result<(), Fault> {
        let transaction = self.connection.transaction()?;
        {
            let mut insert = transaction.prepare_cached(INSERT)?;
            for given in group {
                self.seq += 1;
                insert.execute(params![
                    self.seq,
                    given.request.as_bytes().as_slice(),
                    given.line.as_ref()
                ])?;
            }
        }
        Ok(transaction.commit()?)
    }
}
