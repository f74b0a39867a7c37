//! A further book in an engine, and what it is called.

use std::path::PathBuf;

use clap::Parser;

use crate::store::EngineBook;

/// Longest name of a shop, in characters. Source: the tables, which take no longer one.
const NAME_CHARS_MAX: usize = 80;

/// Begins one more book in PostgreSQL, beside those that are there: each shop has its own. Nodes that serve all books
/// serve it at once.
#[derive(Debug, Clone, Parser)]
#[command(name = "begin", max_term_width = 100)]
pub(crate) struct BeginArgs {
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
    pub(crate) node: PathBuf,

    /// Certificates that the engine's may rest on, in PEM, instead of those that the system believes.
    #[arg(long, value_name = "FILE", env = "FETTLED_STORE_AUTHORITY")]
    store_authority: Option<PathBuf>,

    /// What people call the shop, such as north.
    #[arg(long, value_name = "NAME", value_parser = name)]
    pub(crate) name: Option<String>,
}

impl BeginArgs {
    /// The engine.
    pub(crate) fn engine(&self) -> EngineBook<'_> {
        EngineBook {
            url: &self.store,
            authority: self.store_authority.as_deref(),
            node: &self.node,
            book: None,
            address: None,
        }
    }
}

/// A name that fits into a line.
fn name(text: &str) -> Result<String, String> {
    let text = text.trim();
    let is_plain = !text.chars().any(char::is_control);
    if is_plain && (1..=NAME_CHARS_MAX).contains(&text.chars().count()) {
        return Ok(text.to_owned());
    }
    Err(format!(
        "write a name of 1 to {NAME_CHARS_MAX} characters, for example north"
    ))
}
