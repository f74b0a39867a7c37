//! What a session is asked about all books.

use fettlebook_model::Seq;
use tokio_postgres::{Error, Row};
use uuid::Uuid;

use super::Session;
use crate::store::postgres::several::{BookEnd, NamedBook};
use crate::store::postgres::{count, sql};

impl Session {
    /// The books that are there, the oldest first.
    pub(in crate::store::postgres) async fn named_books(&self) -> Result<Vec<NamedBook>, Error> {
        let rows = self.client.query(sql::NAMED_BOOKS, &[]).await?;
        let listed = |row: &Row| -> Result<NamedBook, Error> {
            Ok(NamedBook {
                id: row.try_get(0)?,
                name: row.try_get(1)?,
                entry_count: count(row.try_get(2)?),
                begun: row.try_get(3)?,
            })
        };
        rows.iter().map(listed).collect()
    }

    /// Where each book ends that has entries.
    pub(in crate::store::postgres) async fn ends(&self) -> Result<Vec<BookEnd>, Error> {
        let rows = self.client.query(sql::ENDS, &[]).await?;
        let read = |row: &Row| -> Result<BookEnd, Error> {
            Ok(BookEnd {
                id: row.try_get(0)?,
                incarnation_id: row.try_get(1)?,
                head: Seq(count(row.try_get(2)?)),
                upkeep: row.try_get(3)?,
            })
        };
        rows.iter().map(read).collect()
    }

    /// Begins a book beside whatever is there.
    pub(in crate::store::postgres) async fn begin_another(
        &self,
        book: Uuid,
        name: Option<&str>,
    ) -> Result<(), Error> {
        let begun = self
            .client
            .execute(sql::BEGIN_ANOTHER, &[&book, &name])
            .await;
        begun.map(drop)
    }

    /// Papers of codes that were written within so many seconds, the last first.
    pub(in crate::store::postgres) async fn codes_lately(
        &self,
        within_s: f64,
        most: i64,
    ) -> Result<Vec<(Uuid, Vec<u8>)>, Error> {
        let rows = self
            .client
            .query(sql::CODES_LATELY, &[&within_s, &most])
            .await?;
        let read = |row: &Row| Ok((row.try_get(0)?, row.try_get(1)?));
        rows.iter().map(read).collect()
    }
}
