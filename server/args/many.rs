//! How many books a node has open, and for how long.

use std::time::Duration;

use clap::Args;
use jiff::SignedDuration;

use super::read::{count, length};

/// What a node with several books keeps open.
#[derive(Debug, Clone, Args)]
pub(crate) struct ManyArgs {
    /// Most books of an engine open at once. One more is opened in place of the one that nobody used for longest.
    #[arg(
        long,
        value_name = "COUNT",
        env = "FETTLED_OPEN_BOOKS",
        default_value = "80",
        value_parser = count,
        requires = "store"
    )]
    pub(crate) open_books: usize,

    /// Let go of one of several books once nobody used it for so long, such as 5m or 1h; it is opened again when
    /// somebody asks for it.
    #[arg(
        long,
        value_name = "TIME",
        env = "FETTLED_LET_GO_AFTER",
        default_value = "5m",
        value_parser = length,
        requires = "store"
    )]
    let_go_after: SignedDuration,
}

impl ManyArgs {
    /// How long a book is open that nobody uses.
    pub(crate) fn let_go_after(&self) -> Duration {
        Duration::try_from(self.let_go_after).unwrap_or_default()
    }
}
