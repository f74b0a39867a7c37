//! What a session is asked about all books.

use tokio_postgres::{Error, Row};
use uuid::Uuid;

use super::Session;
use crate::store::postgres::several::ListedBook;
use crate::store::postgres::{count, sql};

impl Session {
    /// The books that are there, the oldest first.
    pub(in crate::store::postgres) async fn listed(&self) -> Result<Vec<ListedBook>, Error> {
        let rows = self.client.query(sql::LISTED_BOOKS, &[]).await?;
        let listed = |row: &Row| -> Result<ListedBook, Error> {
            Ok(ListedBook {
                id: row.try_get(0)?,
                name: row.try_get(1)?,
                entry_count: count(row.try_get(2)?),
                begun: row.try_get(3)?,
            })
        };
        rows.iter().map(listed).collect()
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
}
