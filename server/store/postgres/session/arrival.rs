//! What a session is asked to bring a book that comes whole from elsewhere.

use tokio_postgres::Error;
use tokio_postgres::types::ToSql;
use uuid::Uuid;

use super::Session;
use crate::journal::Head;
use crate::store::Identity;
use crate::store::postgres::{head, number, sql};

/// Entries as they were elsewhere.
#[derive(Debug, Default)]
pub(in crate::store::postgres) struct ArrivingLines {
    pub(in crate::store::postgres) seqs: Vec<i64>,
    pub(in crate::store::postgres) chains: Vec<String>,
    pub(in crate::store::postgres) afters: Vec<i64>,
    pub(in crate::store::postgres) requests: Vec<Option<Uuid>>,
    pub(in crate::store::postgres) entries: Vec<Vec<u8>>,
}

/// What is there of a book that is to come.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::store::postgres) enum Before {
    /// Nothing, and now it is begun.
    Nothing,
    /// Another brings it this moment.
    Coming,
    /// It is there.
    There,
    /// It was there up to this entry, and went elsewhere, as whoever moved it said.
    Left(Option<Head>, String),
}

impl Session {
    /// Begins the transaction in which a book comes. Of one that comes back nothing stays that let devices in.
    pub(in crate::store::postgres) async fn arrive(
        &self,
        identity: &Identity,
        name: Option<&str>,
    ) -> Result<Before, Error> {
        let (book, since) = (identity.book_id, number(identity.since.0));
        self.client.batch_execute("BEGIN").await?;
        let turn = self.client.query_one(sql::ARRIVE_TURN, &[&book]).await?;
        if !turn.try_get::<_, bool>(0)? {
            return Ok(Before::Coming);
        }
        let asked: [&(dyn ToSql + Sync); 4] = [&book, &identity.incarnation_id, &since, &name];
        if self.client.execute(sql::ARRIVE, &asked).await? > 0 {
            return Ok(Before::Nothing);
        }
        let row = self.client.query_one(sql::ARRIVE_AGAIN, &[&book]).await?;
        let moved: Option<String> = row.try_get(2)?;
        let Some(moved) = moved else {
            return Ok(Before::There);
        };
        self.client.execute(sql::EMPTY_PAPERS, &[&book]).await?;
        let stands = head(row.try_get(0)?, row.try_get(1)?);
        Ok(Before::Left(stands, moved))
    }

    pub(in crate::store::postgres) async fn put_lines(
        &self,
        book: Uuid,
        lines: &ArrivingLines,
    ) -> Result<(), Error> {
        let asked: [&(dyn ToSql + Sync); 6] = [
            &book,
            &lines.seqs,
            &lines.chains,
            &lines.afters,
            &lines.requests,
            &lines.entries,
        ];
        self.client.execute(sql::PUT_LINES, &asked).await.map(drop)
    }

    /// Says where the book that came ends.
    pub(in crate::store::postgres) async fn end_arrival(
        &self,
        identity: &Identity,
        end: &Head,
        line_bytes: i64,
    ) -> Result<(), Error> {
        let (seq, chain) = (number(end.seq.0), end.chain.to_string());
        let asked: [&(dyn ToSql + Sync); 5] = [
            &identity.book_id,
            &identity.incarnation_id,
            &seq,
            &chain,
            &line_bytes,
        ];
        self.client.execute(sql::ARRIVED, &asked).await.map(drop)
    }

    pub(in crate::store::postgres) async fn commit(&self) -> Result<(), Error> {
        self.client.batch_execute("COMMIT").await
    }

    /// Whether a book came, for certain, behind whatever still brings it.
    pub(in crate::store::postgres) async fn has_arrived(
        &self,
        identity: Identity,
    ) -> Result<bool, Error> {
        let (book, incarnation) = (identity.book_id, identity.incarnation_id);
        self.client.query_one(sql::ARRIVED_TURN, &[&book]).await?;
        let found = self
            .client
            .execute(sql::HAS_ARRIVED, &[&book, &incarnation])
            .await;
        self.client
            .query_one(sql::ARRIVED_TURN_OVER, &[&book])
            .await?;
        Ok(found? > 0)
    }
}
