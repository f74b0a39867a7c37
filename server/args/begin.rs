//! A further book in an engine, and what it is called.

use clap::Parser;

use super::EngineArgs;

/// Longest name of a shop, in characters. Source: the tables, which take no longer one.
const NAME_CHARS_MAX: usize = 80;

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

/// A name that fits into a line.
pub(super) fn shop_name(text: &str) -> Result<String, String> {
    let text = text.trim();
    let is_plain = !text.chars().any(char::is_control);
    if is_plain && (1..=NAME_CHARS_MAX).contains(&text.chars().count()) {
        return Ok(text.to_owned());
    }
    Err(format!(
        "write a name of 1 to {NAME_CHARS_MAX} characters, for example north"
    ))
}
