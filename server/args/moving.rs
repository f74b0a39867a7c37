//! Where a book moves from, and where to.

use std::path::{Path, PathBuf};

use clap::Parser;
use uuid::Uuid;

use crate::store::EngineBook;

/// Moves a book from a folder into PostgreSQL, or back into a new folder: all its entries and every device
/// that is paired. Stop whatever serves it first.
#[derive(Debug, Clone, Parser)]
#[command(name = "move", max_term_width = 100)]
pub(crate) struct MoveArgs {
    /// Folder of the book that moves into PostgreSQL.
    #[arg(
        long,
        value_name = "DIR",
        env = "FETTLED_BOOK",
        requires = "to_store",
        conflicts_with = "store",
        required_unless_present = "store"
    )]
    book: Option<PathBuf>,

    /// Where it moves to, as postgres://ROLE@HOST/DATABASE. Give a password by FETTLED_TO_STORE, which others on
    /// this machine do not see.
    #[arg(
        long,
        value_name = "URL",
        env = "FETTLED_TO_STORE",
        hide_env_values = true,
        requires = "book"
    )]
    to_store: Option<String>,

    /// Where the engine is out of which the book moves. Give a password by FETTLED_STORE.
    #[arg(
        long,
        value_name = "URL",
        env = "FETTLED_STORE",
        hide_env_values = true,
        requires = "to_book"
    )]
    store: Option<String>,

    /// Id of the book there, where there are several.
    #[arg(long, value_name = "ID", env = "FETTLED_BOOK_ID", requires = "store")]
    book_id: Option<Uuid>,

    /// Folder that the book moves into: a new one, or an empty one.
    #[arg(long, value_name = "DIR", requires = "store")]
    to_book: Option<PathBuf>,

    /// Folder for what this machine keeps for itself when it serves a book out of an engine, as with --store.
    #[arg(long, value_name = "DIR", env = "FETTLED_NODE")]
    node: PathBuf,

    /// Certificates that the engine's may rest on, in PEM, instead of those that the system believes.
    #[arg(long, value_name = "FILE", env = "FETTLED_STORE_AUTHORITY")]
    store_authority: Option<PathBuf>,
}

/// Which way a book moves.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Way<'a> {
    /// Out of a folder into an engine.
    Up(&'a Path, EngineBook<'a>),
    /// Out of an engine into a folder.
    Down(EngineBook<'a>, &'a Path),
}

impl MoveArgs {
    /// Which way it moves. One of the two is given, or nothing of it was taken.
    pub(crate) fn way(&self) -> Option<Way<'_>> {
        match (&self.book, &self.to_store, &self.store, &self.to_book) {
            (Some(from), Some(to), None, None) => Some(Way::Up(from, self.engine(to))),
            (None, None, Some(from), Some(to)) => Some(Way::Down(self.engine(from), to)),
            _ => None,
        }
    }

    /// The folder of this machine.
    pub(crate) fn node(&self) -> &Path {
        &self.node
    }

    fn engine<'a>(&'a self, url: &'a str) -> EngineBook<'a> {
        EngineBook {
            url,
            authority: self.store_authority.as_deref(),
            node: &self.node,
            book: self.book_id,
            address: None,
        }
    }
}
