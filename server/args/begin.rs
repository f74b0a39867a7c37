//! A further book in an engine, and what it is called.

use clap::Parser;

use super::EngineArgs;
use super::read::shop_name;

/// Begins one more book in PostgreSQL, beside those that are there: each shop has its own. Nodes that serve all books
/// serve it within seconds.
#[derive(Debug, Clone, Parser)]
#[command(name = "begin", max_term_width = 100)]
pub(crate) struct BeginArgs {
    #[command(flatten)]
    pub(crate) engine: EngineArgs,

    /// What people call the shop, such as north.
    #[arg(long, value_name = "NAME", value_parser = shop_name)]
    pub(crate) name: Option<String>,
}
