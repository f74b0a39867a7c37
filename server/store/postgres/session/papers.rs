//! What a session is asked about papers of a cabinet, and about notes.

use tokio_postgres::types::ToSql;
use tokio_postgres::{Error, Row};
use uuid::Uuid;

use super::Session;
use crate::store::postgres::sql;

/// The paper of a cabinet.
#[derive(Debug, Clone)]
pub(in crate::store::postgres) struct StoredPaper {
    pub(in crate::store::postgres) version: i64,
    pub(in crate::store::postgres) bytes: Vec<u8>,
}

/// What a paper is written over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::store::postgres) enum Over {
    /// Whatever is there: nobody has looked.
    Anything,
    /// Nothing, as was seen.
    Nothing,
    /// What was read.
    Version(i64),
}

impl Session {
    pub(in crate::store::postgres) async fn read_paper(
        &self,
        book: Uuid,
        kind: &str,
    ) -> Result<Option<StoredPaper>, Error> {
        let row = self
            .client
            .query_opt(sql::READ_PAPER, &[&book, &kind])
            .await?;
        let read = |row: Row| -> Result<StoredPaper, Error> {
            Ok(StoredPaper {
                version: row.try_get(0)?,
                bytes: row.try_get(1)?,
            })
        };
        row.map(read).transpose()
    }

    /// Writes a paper; gives its new version, or nothing where it is not what it is to be written over.
    pub(in crate::store::postgres) async fn write_paper(
        &self,
        (book, kind): (Uuid, &str),
        bytes: &[u8],
        over: Over,
    ) -> Result<Option<i64>, Error> {
        let row = match over {
            Over::Anything => {
                let asked: [&(dyn ToSql + Sync); 3] = [&book, &kind, &bytes];
                self.client.query_opt(sql::PUT_PAPER, &asked).await?
            }
            Over::Nothing => {
                let asked: [&(dyn ToSql + Sync); 3] = [&book, &kind, &bytes];
                self.client.query_opt(sql::FIRST_PAPER, &asked).await?
            }
            Over::Version(version) => {
                let asked: [&(dyn ToSql + Sync); 4] = [&book, &kind, &bytes, &version];
                self.client.query_opt(sql::REPLACE_PAPER, &asked).await?
            }
        };
        row.map(|row| row.try_get(0)).transpose()
    }

    pub(in crate::store::postgres) async fn note(
        &self,
        book: Uuid,
        about: &str,
    ) -> Result<Option<Vec<u8>>, Error> {
        let row = self.client.query_opt(sql::NOTE, &[&book, &about]).await?;
        row.map(|row| row.try_get(0)).transpose()
    }

    pub(in crate::store::postgres) async fn keep_note(
        &self,
        book: Uuid,
        about: &str,
        bytes: &[u8],
    ) -> Result<(), Error> {
        let asked: [&(dyn ToSql + Sync); 3] = [&book, &about, &bytes];
        self.client.execute(sql::KEEP_NOTE, &asked).await.map(drop)
    }
}
