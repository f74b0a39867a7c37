//! The cabinet of a book: what lets devices in, kept for the service alone.
//!
//! It is no part of the journal and goes into no backup: what is restored lets in nobody who was shut
//! out. The papers in it are what access made of them; a store keeps their bytes.

use std::fmt::Debug;

#[cfg(feature = "postgres")]
use uuid::Uuid;

/// Where what lets devices in is kept.
pub trait Cabinet: Debug + Send + Sync {
    /// Makes it where there is none, and shuts it to everyone else. What is in it is certain then.
    ///
    /// # Errors
    /// When it cannot be made, or something else stands in its place.
    fn open(&self) -> Result<(), CabinetError>;

    /// Reads a paper; nothing where there is none.
    ///
    /// # Errors
    /// When it cannot be read.
    fn read(&self, paper: Paper) -> Result<Option<Vec<u8>>, CabinetError>;

    /// Writes a paper durably, in place of what it held: all of it or nothing.
    ///
    /// # Errors
    /// When it cannot be written.
    fn write(&self, paper: Paper, bytes: &[u8]) -> Result<(), CabinetError>;

    /// Waits for the turn to change codes or certificates: `fettled pair` does it beside a running
    /// service.
    ///
    /// # Errors
    /// When it cannot be waited for.
    fn turn(&self) -> Result<Turn, CabinetError>;

    /// Where a paper is, for people.
    fn place(&self, paper: Paper) -> String;
}

/// The codes of all books that are kept together, for whoever finds the book of one.
#[cfg(feature = "postgres")]
pub trait CodePapers: Debug + Send + Sync {
    /// The papers of codes that were written lately, each with its book.
    ///
    /// # Errors
    /// When they cannot be read.
    fn lately(&self) -> Result<Vec<(Uuid, Vec<u8>)>, CabinetError>;
}

/// A paper in the cabinet. The service's note and its leaf are of the machine that serves the book; all
/// others are of the book.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    /// The devices, with the SHA-256 of their secrets.
    Devices,
    /// Pairing codes that are open or were lately.
    Codes,
    /// Where the service listened last, and its fingerprint.
    Service,
    /// The book's own certificate authority.
    Authority,
    /// The key of the authority.
    AuthorityKey,
    /// The service's certificate.
    Leaf,
    /// The key of that.
    LeafKey,
}

impl Paper {
    /// Those that are of the book, and go where it goes.
    #[cfg(feature = "postgres")]
    pub(crate) const OF_THE_BOOK: [Self; 4] = [
        Self::Devices,
        Self::Codes,
        Self::Authority,
        Self::AuthorityKey,
    ];

    /// What it is called.
    pub(crate) const fn name(self) -> &'static str {
        match self {
            Self::Devices => "devices.json",
            Self::Codes => "codes.json",
            Self::Service => "service.json",
            Self::Authority => "authority.pem",
            Self::AuthorityKey => "authority.key",
            Self::Leaf => "leaf.pem",
            Self::LeafKey => "leaf.key",
        }
    }
}

/// The turn of whoever changes codes or certificates; dropping it gives it back.
#[must_use]
pub struct Turn {
    _held: Box<dyn Send>,
}

impl Turn {
    /// A turn that lasts as long as what is held.
    pub(super) fn with(held: impl Send + 'static) -> Self {
        let _held: Box<dyn Send> = Box::new(held);
        Self { _held }
    }
}

/// Why the cabinet was not read or written.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CabinetError {
    /// A link, or something of another kind, stands where something of our own should.
    #[error("{path} is a link or something else that does not belong there.")]
    Astray {
        /// What stands there.
        path: String,
    },
    /// Another wrote it since it was read, and nothing was written over that.
    #[error("{path} was changed on another machine meanwhile")]
    Changed {
        /// The paper.
        path: String,
    },
    /// It cannot be used.
    #[error("{path} could not be {action}: {why}.")]
    Failed {
        /// The paper, or the cabinet.
        path: String,
        /// What was tried, as "read" or "written".
        action: &'static str,
        /// What the system said.
        why: String,
    },
}
