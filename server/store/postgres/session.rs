//! A session with the engine: a connection, with all that is ever asked of it prepared.
//!
//! What is asked while an answer is under way goes out at once, so that many books share a session. An
//! answer counts once the engine is ready for the next statement: the commit comes after the rows.

mod arrival;
mod mending;
mod office;
mod papers;
mod several;

use std::future::poll_fn;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use fettlebook_model::Seq;
use tokio::task::AbortHandle;
use tokio_postgres::error::Severity;
use tokio_postgres::types::ToSql;
use tokio_postgres::{AsyncMessage, Client, Error, Row, Statement};
use uuid::Uuid;

use super::group::Group;
use super::hosts::{Connected, connected};
use super::place::EngineUrl;
use super::trouble::{Trouble, words};
use super::{Listed, Stands, count, head, number, sql};
use crate::journal::Head;
use crate::store::Identity;

pub(super) use arrival::{ArrivingLines, Before};
pub(super) use office::OfficeRows;
pub(super) use papers::Over;

/// A session.
#[derive(Debug)]
pub(super) struct Session {
    client: Client,
    prepared: Prepared,
    /// How often the engine warned of something.
    warnings: Arc<AtomicU64>,
    driver: AbortHandle,
}

/// The statements that a session is used for all the time.
#[derive(Debug)]
struct Prepared {
    look: Statement,
    settle: Statement,
    append: Statement,
    lines: Statement,
    holders: Statement,
}

/// The right as the engine gave it.
#[derive(Debug, Clone)]
pub(super) struct Held {
    /// The number with which groups count.
    pub(super) epoch: i64,
    pub(super) head: Head,
    /// Bytes of all lines.
    pub(super) line_bytes: u64,
}

/// Who has the right, and what the engine sees of them.
#[derive(Debug)]
pub(super) struct SeenRow {
    pub(super) book: Uuid,
    /// What they said of themselves; none once the right was given back.
    pub(super) holder: Option<String>,
    /// How many sessions they have.
    pub(super) session_count: i64,
    /// When one of those last asked something, by the engine's clock; none where that is not shown to this role.
    pub(super) asked_us: Option<i64>,
}

/// An entry as it is kept.
#[derive(Debug, Clone)]
pub(super) struct Stored {
    pub(super) seq: Seq,
    /// The digits of its chain value, as they are kept.
    pub(super) chain: String,
    pub(super) bytes: Vec<u8>,
}

/// Whether the tables are those that this program knows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Schema {
    Missing,
    Version(i32),
}

impl Session {
    /// Opens one, kept going by the runtime this is called in.
    pub(super) async fn open(url: &EngineUrl) -> Result<Self, Trouble> {
        let (client, connection) = connected(url).await?;
        let opened = Self::on(client, connection).await;
        opened.map_err(|error| Trouble::Unreached(words(&error)))
    }

    async fn on(client: Client, mut connection: Connected) -> Result<Self, Error> {
        let warnings = Arc::new(AtomicU64::new(0));
        let warned = Arc::clone(&warnings);
        let driver = tokio::spawn(async move {
            while let Some(message) = poll_fn(|context| connection.poll_message(context)).await {
                match message {
                    Ok(AsyncMessage::Notice(notice)) => {
                        if notice.parsed_severity() != Some(Severity::Warning) {
                            continue;
                        }
                        // Before the answer that it stands before: that is how whoever asked knows.
                        warned.fetch_add(1, Ordering::SeqCst);
                        tracing::warn!(said = notice.message(), "the engine warns");
                    }
                    Ok(_) => {}
                    Err(error) => {
                        tracing::warn!(%error, "a connection to the engine ended");
                        return;
                    }
                }
            }
        });
        let driver = driver.abort_handle();
        client.batch_execute(sql::BEGIN_SESSION).await?;
        if let Err(error) = client.batch_execute(sql::END_WHEN_ALONE).await {
            tracing::debug!(%error, "the engine cannot look whether anyone is behind a session");
        }
        let prepared = Prepared::on(&client).await?;
        Ok(Self {
            client,
            prepared,
            warnings,
            driver,
        })
    }

    /// Opens one on which nothing is prepared, and asks for the version of the tables. A session for all
    /// else cannot be had before they are there.
    pub(super) async fn schema(url: &EngineUrl) -> Result<(Schema, bool), Trouble> {
        let (client, connection) = connected(url).await?;
        let driver = tokio::spawn(connection);
        let asked = async {
            let is_synced: bool = client.query_one(sql::IS_SYNCED, &[]).await?.try_get(0)?;
            let is_there: bool = client.query_one(sql::HAS_SCHEMA, &[]).await?.try_get(0)?;
            if !is_there {
                return Ok((Schema::Missing, is_synced));
            }
            let version = client.query_one(sql::SCHEMA, &[]).await?.try_get(0)?;
            Ok((Schema::Version(version), is_synced))
        };
        let asked: Result<_, Error> = asked.await;
        drop(client);
        driver.abort();
        asked.map_err(|error| Trouble::Unreached(words(&error)))
    }

    /// Whether nothing can be asked of it any more.
    pub(super) fn is_over(&self) -> bool {
        self.client.is_closed()
    }

    /// Ends it at once: what was asked and not answered has an outcome that is not known.
    pub(super) fn give_up(&self) {
        self.driver.abort();
    }

    /// How often the engine warned of something so far. A commit that was not waited for as it should
    /// be is answered like any other, after a warning.
    pub(super) fn warning_count(&self) -> u64 {
        self.warnings.load(Ordering::SeqCst)
    }

    pub(super) async fn books(&self, asked: Option<Uuid>) -> Result<Vec<Uuid>, Error> {
        let rows = self.client.query(sql::BOOKS, &[&asked]).await?;
        rows.iter().map(|row| row.try_get(0)).collect()
    }

    /// Begins a book where there is none.
    pub(super) async fn begin(&self, book: Uuid) -> Result<(), Error> {
        self.client.execute(sql::BEGIN_TURN, &[]).await?;
        let begun = self.client.execute(sql::BEGIN_BOOK, &[&book]).await;
        self.client.execute(sql::BEGIN_TURN_OVER, &[]).await?;
        begun.map(drop)
    }

    pub(super) async fn look(&self, book: Uuid) -> Result<Option<Stands>, Error> {
        let row = self.client.query_opt(&self.prepared.look, &[&book]).await?;
        let Some(row) = row else {
            return Ok(None);
        };
        Ok(Some(Stands {
            identity: Identity {
                book_id: book,
                incarnation_id: row.try_get(0)?,
                since: Seq(count(row.try_get(1)?)),
            },
            epoch: row.try_get(2)?,
            holder: row.try_get(3)?,
            line_bytes: count(row.try_get(4)?),
            moved: row.try_get(5)?,
        }))
    }

    /// All books that are there, the first begun first.
    pub(super) async fn ids(&self) -> Result<Vec<Listed>, Error> {
        let rows = self.client.query(sql::IDS, &[]).await?;
        let listed = rows.iter().map(|row| {
            Ok(Listed {
                id: row.try_get(0)?,
                has_moved: row.try_get(1)?,
            })
        });
        listed.collect()
    }

    /// Who has the right to each of these books, and what the engine sees of them.
    pub(super) async fn seen(&self, books: &[Uuid]) -> Result<Vec<SeenRow>, Error> {
        let asked: [&(dyn ToSql + Sync); 2] = [&books, &sql::SESSION];
        let rows = self.client.query(sql::SEEN, &asked).await?;
        let seen = rows.iter().map(|row| {
            Ok(SeenRow {
                book: row.try_get(0)?,
                holder: row.try_get(1)?,
                session_count: row.try_get(2)?,
                asked_us: row.try_get(3)?,
            })
        });
        seen.collect()
    }

    /// What whoever has the right to each of these books said of themselves, and how many bytes its lines have.
    pub(super) async fn holders(
        &self,
        books: &[Uuid],
    ) -> Result<Vec<(Uuid, Option<String>, u64)>, Error> {
        let rows = self.client.query(&self.prepared.holders, &[&books]).await?;
        let holders = rows
            .iter()
            .map(|row| Ok((row.try_get(0)?, row.try_get(1)?, count(row.try_get(2)?))));
        holders.collect()
    }

    /// The right, unless another took it since the epoch was read.
    pub(super) async fn take_over(
        &self,
        book: Uuid,
        epoch: i64,
        holder: &str,
    ) -> Result<Option<Held>, Error> {
        let asked: [&(dyn ToSql + Sync); 3] = [&book, &epoch, &holder];
        let row = self.client.query_opt(sql::TAKE_OVER, &asked).await?;
        row.as_ref().map_or(Ok(None), held_in)
    }

    /// The right under its next number, unless it is another's.
    pub(super) async fn settle(&self, book: Uuid, holder: &str) -> Result<Option<Held>, Error> {
        let asked: [&(dyn ToSql + Sync); 2] = [&book, &holder];
        let row = self.client.query_opt(&self.prepared.settle, &asked).await?;
        row.as_ref().map_or(Ok(None), held_in)
    }

    pub(super) async fn give_back(&self, book: Uuid, holder: &str) -> Result<(), Error> {
        let given = self.client.execute(sql::GIVE_BACK, &[&book, &holder]).await;
        given.map(drop)
    }

    /// Whether it was said where the book went, by whoever has the right.
    pub(super) async fn mark_moved(
        &self,
        (book, holder): (Uuid, &str),
        moved: Option<&str>,
    ) -> Result<bool, Error> {
        let asked: [&(dyn ToSql + Sync); 3] = [&book, &holder, &moved];
        let marked = self.client.execute(sql::MARK_MOVED, &asked).await?;
        Ok(marked > 0)
    }

    /// How many entries of a group counted: all, or none.
    pub(super) async fn append(&self, book: Uuid, epoch: i64, group: &Group) -> Result<u64, Error> {
        let (before, chain) = (number(group.before.seq.0), group.before.chain.to_string());
        let asked: [&(dyn ToSql + Sync); 8] = [
            &book,
            &epoch,
            &before,
            &chain,
            &group.line_bytes,
            &group.chains,
            &group.requests,
            &group.entries,
        ];
        self.client.execute(&self.prepared.append, &asked).await
    }

    /// The entries from one number to another, both included, in order, and no further one behind so many
    /// bytes; none from an engine that does not know of an entry that was recorded. Such a one was the leader
    /// once: the session with it is ended.
    pub(super) async fn lines(
        &self,
        book: Uuid,
        (from, until): (i64, i64),
        bytes_max: i64,
        recorded: Seq,
    ) -> Result<Option<Vec<Stored>>, Error> {
        let asked: [&(dyn ToSql + Sync); 4] = [&book, &from, &until, &bytes_max];
        let rows = self.client.query(&self.prepared.lines, &asked).await?;
        let head = rows.first().map(|row| row.try_get(0)).transpose()?;
        if Seq(head.map_or(0, count)) < recorded {
            self.give_up();
            return Ok(None);
        }
        let stored = |row: &Row| -> Result<Option<Stored>, Error> {
            let Some(seq) = row.try_get::<_, Option<i64>>(1)? else {
                return Ok(None);
            };
            Ok(Some(Stored {
                seq: Seq(count(seq)),
                chain: row.try_get(2)?,
                bytes: row.try_get(3)?,
            }))
        };
        let stored = rows.iter().filter_map(|row| stored(row).transpose());
        stored.collect::<Result<_, _>>().map(Some)
    }

    pub(super) async fn chain_at(&self, book: Uuid, seq: i64) -> Result<Option<String>, Error> {
        let row = self.client.query_opt(sql::CHAIN_AT, &[&book, &seq]).await?;
        row.map(|row| row.try_get(0)).transpose()
    }

    /// Whether nobody else was there, and now this is.
    pub(super) async fn be_there(&self, book: Uuid) -> Result<bool, Error> {
        self.client
            .query_one(sql::BE_THERE, &[&book])
            .await?
            .try_get(0)
    }

    pub(super) async fn be_gone(&self, book: Uuid) -> Result<(), Error> {
        self.client
            .query_one(sql::BE_GONE, &[&book])
            .await
            .map(drop)
    }

    /// Waits for the turn, which lasts as long as this session.
    pub(super) async fn turn(&self, book: Uuid) -> Result<(), Error> {
        self.client.query_one(sql::TURN, &[&book]).await.map(drop)
    }
}

impl Prepared {
    /// Prepares them, all in one go.
    async fn on(client: &Client) -> Result<Self, Error> {
        let (look, settle, append, lines, holders) = tokio::try_join!(
            client.prepare(sql::LOOK),
            client.prepare(sql::SETTLE),
            client.prepare(sql::APPEND),
            client.prepare(sql::LINES),
            client.prepare(sql::HOLDERS),
        )?;
        Ok(Self {
            look,
            settle,
            append,
            lines,
            holders,
        })
    }
}

fn held_in(row: &Row) -> Result<Option<Held>, Error> {
    let Some(head) = head_in(row, 1)? else {
        return Ok(None);
    };
    Ok(Some(Held {
        epoch: row.try_get(0)?,
        head,
        line_bytes: count(row.try_get(3)?),
    }))
}

/// Where a journal ends, from two columns.
fn head_in(row: &Row, at: usize) -> Result<Option<Head>, Error> {
    Ok(head(row.try_get(at)?, row.try_get(at + 1)?))
}
