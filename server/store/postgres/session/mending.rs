//! What a session is asked to mend a book.

use fettlebook_model::Seq;
use tokio_postgres::types::ToSql;
use tokio_postgres::{Error, Row};
use uuid::Uuid;

use super::{Session, Stored};
use crate::store::postgres::{count, sql};

impl Session {
    /// The rows of entries behind a number, the first of them always; none where the right is not this holder's.
    pub(in crate::store::postgres) async fn rows(
        &self,
        (book, holder): (Uuid, &str),
        after: i64,
        bytes_max: i64,
    ) -> Result<Option<Vec<Stored>>, Error> {
        let asked: [&(dyn ToSql + Sync); 4] = [&book, &after, &bytes_max, &holder];
        let rows = self.client.query(sql::ROWS, &asked).await?;
        if rows.is_empty() {
            return Ok(None);
        }
        let stored = |row: &Row| -> Result<Option<Stored>, Error> {
            let Some(seq) = row.try_get::<_, Option<i64>>(0)? else {
                return Ok(None);
            };
            Ok(Some(Stored {
                seq: Seq(count(seq)),
                chain: row.try_get(1)?,
                bytes: row.try_get(2)?,
            }))
        };
        let stored = rows.iter().filter_map(|row| stored(row).transpose());
        stored.collect::<Result<_, _>>().map(Some)
    }

    /// Begins the transaction in which a book is mended; not where the right is another's.
    pub(in crate::store::postgres) async fn mend(
        &self,
        book: Uuid,
        holder: &str,
    ) -> Result<bool, Error> {
        self.client.batch_execute("BEGIN").await?;
        let turn = self.client.query_one(sql::ARRIVE_TURN, &[&book]).await?;
        let asked: [&(dyn ToSql + Sync); 2] = [&book, &holder];
        if !turn.try_get::<_, bool>(0)? || self.client.execute(sql::MEND, &asked).await? == 0 {
            return Ok(false);
        }
        for emptied in [
            sql::EMPTY_NOTES,
            sql::TAKE_AWAY_ANSWERS,
            sql::TAKE_AWAY_LAID_OUT,
        ] {
            self.client.execute(emptied, &[&book]).await?;
        }
        Ok(true)
    }

    pub(in crate::store::postgres) async fn remove_lines(
        &self,
        book: Uuid,
        seqs: &[i64],
    ) -> Result<(), Error> {
        let asked: [&(dyn ToSql + Sync); 2] = [&book, &seqs];
        self.client
            .execute(sql::REMOVE_LINES, &asked)
            .await
            .map(drop)
    }

    /// Whether the entries of a book are those up to a number and no others.
    pub(in crate::store::postgres) async fn are_all(
        &self,
        book: Uuid,
        last: i64,
    ) -> Result<bool, Error> {
        let row = self.client.query_one(sql::ARE_ALL, &[&book, &last]).await?;
        row.try_get(0)
    }
}
