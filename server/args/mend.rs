//! Which book of an engine is mended, and where what was there goes.

use std::path::PathBuf;

use clap::Parser;
use uuid::Uuid;

use super::EngineArgs;

/// Mends a book in PostgreSQL whose entries were changed or lack: what is provably what was recorded stays, a backup may
/// have what is missing, and the book goes on as another life of itself. Without --write it only tells what it would
/// do. Stop whatever serves the book first.
#[derive(Debug, Clone, Parser)]
#[command(name = "mend", max_term_width = 100)]
pub(crate) struct MendArgs {
    #[command(flatten)]
    pub(crate) engine: EngineArgs,

    /// Id of the book, where there are several.
    #[arg(long, value_name = "ID", env = "FETTLED_BOOK_ID")]
    pub(crate) book_id: Option<Uuid>,

    /// Folder of a backup of the same book, for what is damaged.
    #[arg(long, value_name = "BACKUP")]
    pub(crate) with: Option<PathBuf>,

    /// Mend it. Where entries have to be replaced, the role in the address has to own the tables, by fettle_owner:
    /// whoever serves may change none.
    #[arg(long, requires = "aside")]
    pub(crate) write: bool,

    /// New or empty folder for what was there before, byte for byte, and what is left out of it.
    #[arg(long, value_name = "DIR", requires = "write")]
    pub(crate) aside: Option<PathBuf>,
}
