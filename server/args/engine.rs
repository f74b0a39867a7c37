//! Which engine a command is for that works on the books of one.

use std::path::PathBuf;

use clap::Args;
use uuid::Uuid;

use crate::store::EngineBook;

/// An engine, as this machine reaches it.
#[derive(Debug, Clone, Args)]
pub(crate) struct EngineArgs {
    /// Where the engine is that keeps the books, as postgres://ROLE@HOST/DATABASE. Give a password by
    /// FETTLED_STORE, which others on this machine do not see.
    #[arg(
        long,
        value_name = "URL",
        env = "FETTLED_STORE",
        hide_env_values = true
    )]
    store: String,

    /// Folder for what this machine keeps for itself when it serves books out of an engine, as with --store.
    #[arg(long, value_name = "DIR", env = "FETTLED_NODE")]
    node: PathBuf,

    /// Certificates that the engine's may rest on, in PEM, instead of those that the system believes.
    #[arg(long, value_name = "FILE", env = "FETTLED_STORE_AUTHORITY")]
    store_authority: Option<PathBuf>,
}

impl EngineArgs {
    /// A book there; none for the only one.
    pub(crate) fn book(&self, book: Option<Uuid>) -> EngineBook<'_> {
        EngineBook {
            url: &self.store,
            authority: self.store_authority.as_deref(),
            node: &self.node,
            book,
            address: None,
        }
    }

    /// The options that name it, to be typed again: not the address, which may have a password in it, and nothing in
    /// its place where the environment gives it.
    pub(crate) fn typed(&self) -> String {
        let set = std::env::var("FETTLED_STORE");
        let store = if set.is_ok_and(|set| set == self.store) {
            ""
        } else {
            "--store URL "
        };
        format!("{store}--node {}", self.node.display())
    }
}
