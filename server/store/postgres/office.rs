//! What a book in PostgreSQL answers, laid out in tables of their own.
//!
//! It goes over a session of its own, and looks at the book's row without a lock: no group waits for it. What
//! is laid out counts only while the book's row names its holder.

use std::io;
use std::sync::Arc;

use fettlebook_model::Seq;
use tokio_postgres::Error;
use uuid::Uuid;

use super::engine::Engine;
use super::lanes::Lane;
use super::session::{OfficeRows, Session};
use super::{count, number};
use crate::limits::ENGINE_WAIT_MAX;
use crate::store::{Office, OfficeRow};

/// Where the answers of a book are laid out, for as long as the right is this holder's.
#[derive(Debug)]
pub(super) struct PostgresOffice {
    engine: Arc<Engine>,
    book: Uuid,
    holder: String,
}

impl PostgresOffice {
    pub(super) const fn new(engine: Arc<Engine>, book: Uuid, holder: String) -> Self {
        Self {
            engine,
            book,
            holder,
        }
    }

    fn ask<T, F>(&self, work: impl FnOnce(Arc<Session>) -> F + Send + 'static) -> io::Result<T>
    where
        T: Send + 'static,
        F: Future<Output = Result<T, Error>> + Send + 'static,
    {
        let asked = self.engine.ask(Lane::Office, ENGINE_WAIT_MAX, work);
        asked.map_err(io::Error::from)
    }
}

impl Office for PostgresOffice {
    fn deeds_until(&self) -> io::Result<Seq> {
        let book = self.book;
        let until = self.ask(move |session| async move { session.deeds_until(book).await });
        Ok(Seq(count(until?)))
    }

    fn add_deeds(&self, until: Seq, rows: Vec<OfficeRow>) -> io::Result<bool> {
        let (book, holder, until) = (self.book, self.holder.clone(), number(until.0));
        let rows = OfficeRows::of(rows);
        self.ask(
            move |session| async move { session.add_deeds((book, &holder), until, &rows).await },
        )
    }

    fn lay_out(&self, as_of: Seq, rows: Vec<OfficeRow>) -> io::Result<bool> {
        let (book, holder) = (self.book, self.holder.clone());
        let seq = number(as_of.0);
        let rows = OfficeRows::of(rows);
        self.ask(move |session| async move { session.lay_out((book, &holder), seq, &rows).await })
    }
}
