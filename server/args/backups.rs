//! How often the service backs the book up by itself, where to, and how many backups it keeps.

use std::path::PathBuf;

use clap::Args;
use jiff::SignedDuration;

use super::read::{count, length};

/// Backups that the service makes by itself.
#[derive(Debug, Clone, Args)]
pub(crate) struct BackupArgs {
    /// Folder for backups that the service makes by itself, each in a new folder named by its moment, read back
    /// and found whole. Better on another disk than the book.
    #[arg(long = "backup-to", value_name = "DIR", env = "FETTLED_BACKUP_TO")]
    pub(crate) to: Option<PathBuf>,

    /// Time between two of them, such as 6h, 1d or 1w. One of several books that nobody uses is opened for it, where
    /// something was recorded in it since the last.
    #[arg(
        long = "backup-every",
        value_name = "TIME",
        env = "FETTLED_BACKUP_EVERY",
        default_value = "1d",
        value_parser = length,
        requires = "to"
    )]
    pub(crate) every: SignedDuration,

    /// How many of them to keep: once one more is whole, the oldest goes. Nothing else in the folder is touched.
    #[arg(
        long,
        value_name = "COUNT",
        env = "FETTLED_KEEP",
        default_value = "14",
        value_parser = count,
        requires = "to"
    )]
    pub(crate) keep: usize,
}
