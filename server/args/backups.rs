//! How often the service backs the book up by itself, where to, and how many backups it keeps.

use std::path::PathBuf;

use clap::Args;
use jiff::{SignedDuration, Span, SpanRelativeTo};

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

/// Shortest time between two backups.
const EVERY_LEAST: SignedDuration = SignedDuration::from_secs(1);
/// Longest time between two: a year and a day.
const EVERY_MOST: SignedDuration = SignedDuration::from_hours(366 * 24);

/// A length of time.
pub(super) fn length(text: &str) -> Result<SignedDuration, String> {
    let read = text.parse::<Span>();
    let length = read.and_then(|span| span.to_duration(SpanRelativeTo::days_are_24_hours()));
    length
        .ok()
        .filter(|length| (EVERY_LEAST..=EVERY_MOST).contains(length))
        .ok_or_else(|| "write a time from 1s to 366d, for example 6h, 1d or 1w".to_owned())
}

/// How many.
pub(super) fn count(text: &str) -> Result<usize, String> {
    let read = text
        .parse()
        .ok()
        .filter(|count| (1..=10_000).contains(count));
    read.ok_or_else(|| "write a number from 1 to 10000".to_owned())
}
