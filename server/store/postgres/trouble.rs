//! Why the engine did not do what it was asked, and what that says of what was asked.

use std::io;
use std::time::Duration;

use tokio_postgres::error::{Severity, SqlState};

/// Why the engine did not do what it was asked.
#[derive(Debug, Clone, thiserror::Error)]
pub(super) enum Trouble {
    /// It could not be reached: nothing was asked.
    #[error("it cannot be reached: {0}")]
    Unreached(String),
    /// It refused, and nothing of it counts.
    #[error("{what}")]
    Refused {
        /// What it said.
        what: String,
        /// The code of that.
        code: SqlState,
    },
    /// It was asked, and what became of it is not known.
    #[error("it is not known what became of it: {0}")]
    Unknown(String),
}

/// What is said of an engine that did not answer.
pub(super) fn no_answer(wait: Duration) -> String {
    format!("it did not answer in {} seconds", wait.as_secs())
}

/// What went wrong, in the engine's words where it has said any.
pub(super) fn words(error: &tokio_postgres::Error) -> String {
    if let Some(said) = error.as_db_error() {
        return said.message().to_owned();
    }
    let mut text = error.to_string();
    let mut cause = std::error::Error::source(error);
    while let Some(deeper) = cause {
        text.push_str(": ");
        text.push_str(&deeper.to_string());
        cause = deeper.source();
    }
    text
}

/// What becomes of what was asked when it ends so. A statement that fails as an error is taken back by
/// the engine itself; whatever ends the session may have come after the commit.
pub(super) fn told(error: &tokio_postgres::Error) -> Trouble {
    let what = words(error);
    match error.as_db_error() {
        Some(said) if said.parsed_severity() == Some(Severity::Error) => Trouble::Refused {
            what,
            code: said.code().clone(),
        },
        _ => Trouble::Unknown(what),
    }
}

impl From<Trouble> for io::Error {
    fn from(trouble: Trouble) -> Self {
        Self::other(trouble)
    }
}
