//! Which backup is brought back into which engine.

use std::path::PathBuf;

use clap::Parser;

use super::EngineArgs;
use super::read::shop_name;

/// Brings a book back from a backup into PostgreSQL, where it goes on as another life of the same book. The backup is
/// verified first and only read. No device is let in: they are paired anew.
#[derive(Debug, Clone, Parser)]
#[command(name = "restore", max_term_width = 100)]
pub(crate) struct RestoreArgs {
    /// Folder of the backup.
    #[arg(long, value_name = "BACKUP")]
    pub(crate) from: PathBuf,

    #[command(flatten)]
    pub(crate) engine: EngineArgs,

    /// What people call the shop, such as north; a backup does not know. It keeps the name that it has there where it
    /// was there before.
    #[arg(long, value_name = "NAME", value_parser = shop_name)]
    pub(crate) name: Option<String>,
}
