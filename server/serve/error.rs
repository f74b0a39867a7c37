//! Why the service did not start, or ended otherwise than it should.
//!
//! It serves people: each is a sentence that says what to do. Each has its exit code here, the same
//! as the client gives for the like.

use std::io;
use std::net::SocketAddr;
use std::path::PathBuf;

use crate::access::{AccessError, CertificateError};
use crate::desk::OpenError;
use crate::keep::KeepError;
#[cfg(feature = "postgres")]
use crate::keep::{InEngineError, MoveError};
#[cfg(feature = "postgres")]
use crate::store::NamedBook;
use crate::store::StoreError;

/// Why the service did not start or did not end as it should.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// The book could not be opened.
    #[error(transparent)]
    Open(#[from] OpenError),
    /// Another process has the folder that a machine keeps its own in.
    #[error(
        "The folder {} is in use by another fettled. Give each its own folder with --node, or stop that one.", .folder.display()
    )]
    NodeInUse {
        /// The folder.
        folder: PathBuf,
    },
    /// That folder cannot be used.
    #[error("The folder {} cannot be used: {source}. Put that right, or name another with --node.", .folder.display())]
    NodeUnusable {
        /// The folder.
        folder: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The address could not be listened on.
    #[error("Nothing can listen on {address}: {source}. Stop what does, or choose another port.")]
    Listen {
        /// The address.
        address: SocketAddr,
        /// What the system said.
        source: io::Error,
    },
    /// Backups cannot be written where they should go.
    #[error("No backup can be made: {0}")]
    Backups(#[from] KeepError),
    /// Nobody could come in off this machine.
    #[error(
        "{address} can be reached from other machines, and no device is paired that could come in there. Start with one on this machine: run 'fettled {kept} --tls', then 'fettled pair {kept} --name bench --role own', and 'fettle shop pair CODE' with the code it shows. Then listen on {address} again."
    )]
    NobodyPaired {
        /// The address.
        address: SocketAddr,
        /// The options that name the book.
        kept: String,
    },
    /// Nobody could come in off this machine, whichever of several books it is.
    #[error(
        "{address} can be reached from other machines, and no device is paired with any of the {count} books that could come in there. Make a code for an owner first: run 'fettled pair {kept} --book-id ID --name bench --role own'; without --book-id it lists the books. Then listen on {address} again, within ten minutes, and run 'fettle shop pair CODE' on the device, with the code it showed."
    )]
    NobodyPairedOfAny {
        /// The address.
        address: SocketAddr,
        /// The options that name where the books are.
        kept: String,
        /// How many books there are.
        count: usize,
    },
    /// Devices could not be let in.
    #[error("{}", .0.told())]
    Access(#[from] AccessError),
    /// The certificate that was named cannot be served.
    #[error(transparent)]
    Certificate(#[from] CertificateError),
    /// There is no book to pair a device with.
    #[error("There is no book by {kept}. 'fettled {kept}' begins one.")]
    NoBook {
        /// The options that name where it would be.
        kept: String,
    },
    /// There are several books to pair a device with.
    #[cfg(feature = "postgres")]
    #[error("There are several books in {place}. Say with --book-id which of them the device is for:\n{}", lines(.books))]
    WhichBook {
        /// Where they are.
        place: String,
        /// The books.
        books: Vec<NamedBook>,
    },
    /// It is not said where a book moves from and where to.
    #[cfg(feature = "postgres")]
    #[error(
        "Say where the book moves: 'fettled move --book DIR --to-store URL --node DIR', or 'fettled move --store URL --node DIR --to-book DIR'."
    )]
    NoWay,
    /// A book did not move.
    #[cfg(feature = "postgres")]
    #[error(transparent)]
    Move(#[from] MoveError),
    /// A book was not brought back, or not mended.
    #[cfg(feature = "postgres")]
    #[error(transparent)]
    InEngine(#[from] InEngineError),
    /// The system gave no threads, or took one away.
    #[error("The service cannot run: {0}.")]
    Runtime(io::Error),
    /// The transport failed.
    #[error("The service stopped: {0}.")]
    Transport(#[from] tonic::transport::Error),
}

/// A line for each book.
#[cfg(feature = "postgres")]
fn lines(books: &[NamedBook]) -> String {
    let lines = books.iter().map(|book| format!("  {book}"));
    lines.collect::<Vec<_>>().join("\n")
}

impl ServeError {
    /// The exit code: 2 for a name that no device can have, 4 for no book, 5 for a book or a folder in use or a name that was used, 8 for damage, 1 for
    /// anything else.
    pub(super) fn exit_code(&self) -> u8 {
        match self {
            Self::Open(OpenError::Store(StoreError::InUse { .. }))
            | Self::NodeInUse { .. }
            | Self::Access(AccessError::NameTaken { .. }) => 5,
            #[cfg(feature = "postgres")]
            Self::Move(
                MoveError::Store(StoreError::InUse { .. } | StoreError::There { .. })
                | MoveError::Open(OpenError::Store(StoreError::InUse { .. })),
            ) => 5,
            #[cfg(feature = "postgres")]
            Self::InEngine(InEngineError::Store(
                StoreError::InUse { .. } | StoreError::There { .. },
            )) => 5,
            #[cfg(feature = "postgres")]
            Self::Move(MoveError::NoBook { .. }) => 4,
            #[cfg(feature = "postgres")]
            Self::InEngine(InEngineError::NoBook { .. }) => 4,
            #[cfg(feature = "postgres")]
            Self::InEngine(
                InEngineError::Keep(
                    KeepError::BackupDamaged { .. } | KeepError::NothingKept { .. },
                )
                | InEngineError::ReadBack { .. },
            ) => 8,
            #[cfg(feature = "postgres")]
            Self::Move(MoveError::ReadOnly { .. } | MoveError::Journal(_)) => 8,
            #[cfg(feature = "postgres")]
            Self::NoWay | Self::WhichBook { .. } => 2,
            Self::Access(AccessError::NameKept { .. }) => 2,
            Self::NoBook { .. } => 4,
            Self::Open(OpenError::Store(
                StoreError::NoIdentity { .. }
                | StoreError::NoJournal { .. }
                | StoreError::Identity { .. }
                | StoreError::OtherBook { .. },
            ))
            | Self::Access(AccessError::Damaged { .. }) => 8,
            _ => 1,
        }
    }
}
