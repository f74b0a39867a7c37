//! The exit codes, one word each.
//!
//! They serve scripts. A code never changes its meaning.

use std::process::ExitCode;

/// How a command ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Exit {
    /// Done, or the check says go.
    Done,
    /// It failed.
    Failed,
    /// It was typed wrong.
    Usage,
    /// The answer is no: the check says stop, or verification found a difference.
    No,
    /// Not found, or more than one fits.
    NotFound,
    /// It conflicts with what the book holds.
    Conflict,
    /// The service cannot be reached.
    Unreachable,
    /// It is not allowed.
    NotAllowed,
    /// Damage was found in the book.
    Damage,
}

impl Exit {
    /// The number that the shell sees.
    pub(crate) const fn code(self) -> u8 {
        match self {
            Self::Done => 0,
            Self::Failed => 1,
            Self::Usage => 2,
            Self::No => 3,
            Self::NotFound => 4,
            Self::Conflict => 5,
            Self::Unreachable => 6,
            Self::NotAllowed => 7,
            Self::Damage => 8,
        }
    }
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit.code())
    }
}
