//! Why a store does not give a book.
//!
//! Each is a sentence for people: what was wrong, where, and what to do next.

use std::io;
use std::path::{Path, PathBuf};

use uuid::Uuid;

use super::{Holder, Moved};

/// Why not.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// Another process has it.
    #[error("The book in {place} is in use{}. Stop that one, or name another book.", holder_clause(.holder.as_deref()))]
    InUse {
        /// Where the book is kept.
        place: String,
        /// Who holds it, when that could be read.
        holder: Option<Box<Holder>>,
    },
    /// The book went elsewhere.
    #[error("The book in {place} {}", .moved.told())]
    Moved {
        /// Where it was kept.
        place: String,
        /// Where it went.
        moved: Moved,
    },
    /// The folder holds a journal but not what says whose.
    #[error("{} has a journal but no book.json. Bring book.json back from a copy of the book, or make the book anew with: fettle book mend --from FOLDER --to DIR.", .folder.display())]
    NoIdentity {
        /// Folder of the book.
        folder: PathBuf,
    },
    /// The folder is a backup.
    #[error("{} is a backup, not a book: it is never opened as it is, so that nobody works on two books where there is one. Bring the book back into a new folder with: fettle book restore --from BACKUP --to DIR.", .folder.display())]
    Backup {
        /// The folder.
        folder: PathBuf,
    },
    /// The folder is a copy of a shop's book.
    #[error("{} is a device's copy of a shop's book, not a book: it is only looked at, while the shop cannot be reached. Name another folder for a book of your own.", .folder.display())]
    Copy {
        /// The folder.
        folder: PathBuf,
    },
    /// The journal is of another book than what lies beside it says.
    #[error("The journal in {} is of the book {found}, and book.json beside it says {said}: files of two books lie in one folder, and nothing is written to either. Bring the one that does not belong there back from a copy of its book.", .folder.display())]
    OtherBook {
        /// Folder of the book.
        folder: PathBuf,
        /// The book that `book.json` names.
        said: Uuid,
        /// The book that the first entry of the journal names.
        found: Uuid,
    },
    /// The folder was being written by a backup, a restore or a mend.
    #[error("{} was not finished: what wrote it was stopped before its end. Throw the folder away and do it again.", .folder.display())]
    Unfinished {
        /// The folder.
        folder: PathBuf,
    },
    /// The folder says which book it holds, but not what happened in it.
    #[error("{} is missing, and with it every entry of the book. Bring it back from a copy of the book.", .path.display())]
    NoJournal {
        /// Folder of the journal.
        path: PathBuf,
    },
    /// What says whose book it is cannot be read.
    #[error("{} cannot be read: {what}. Bring it back from a copy of the book.", .path.display())]
    Identity {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        what: String,
    },
    /// The book was written by a later program.
    #[error("The folder {} was written by a later fettle: it has format {format}, and this one reads format {known}. Update this one.", .folder.display())]
    Newer {
        /// Folder of the book.
        folder: PathBuf,
        /// Format of the book.
        format: u32,
        /// Format known here.
        known: u32,
    },
    /// What keeps the book does not answer, or refuses.
    #[cfg(feature = "postgres")]
    #[error(
        "{place} cannot be used: {what}. See that it runs and that the role in the address may use it, then try again."
    )]
    Engine {
        /// Where it is.
        place: String,
        /// What went wrong, without a full stop.
        what: String,
    },
    /// Nobody has made the tables.
    #[cfg(feature = "postgres")]
    #[error(
        "{place} has no tables for books. Whoever may make them there makes them with: fettled tables | psql DATABASE."
    )]
    NoTables {
        /// Where it is.
        place: String,
    },
    /// The tables are of an earlier program.
    #[cfg(feature = "postgres")]
    #[error(
        "The tables in {place} have version {found}, and this fettled needs version {known}. Whoever may change them brings them up with: fettled tables --from {found} | psql DATABASE."
    )]
    OlderTables {
        /// Where it is.
        place: String,
        /// Their version.
        found: i32,
        /// The version known here.
        known: i32,
    },
    /// The tables are of a later program.
    #[cfg(feature = "postgres")]
    #[error(
        "The tables in {place} were made by a later fettled: they have version {found}, and this one knows version {known}. Update this one."
    )]
    NewerTables {
        /// Where it is.
        place: String,
        /// Their version.
        found: i32,
        /// The version known here.
        known: i32,
    },
    /// Where it would be is no address of one.
    #[cfg(feature = "postgres")]
    #[error("The address in --store cannot be used: {what}.")]
    Address {
        /// What is wrong with it, without a full stop.
        what: String,
    },
    /// The book that was named is not there.
    #[cfg(feature = "postgres")]
    #[error(
        "{place} has no book {book}. Look at the id, or leave --book-id out where there is one book or none yet."
    )]
    NoSuchBook {
        /// Where it was looked for.
        place: String,
        /// Its id.
        book: Uuid,
    },
    /// The role may add entries, and has to replace some.
    #[cfg(feature = "postgres")]
    #[error(
        "Entries in {place} have to be replaced, which no role that serves may do. Say it with the address of a role that owns the tables, by fettle_owner."
    )]
    MayNotReplace {
        /// Where they are.
        place: String,
    },
    /// The book that comes is there already.
    #[cfg(feature = "postgres")]
    #[error(
        "{place} has the book {book} already, and nothing is ever written over. Look which of the two goes on; the other is thrown away by whoever owns it."
    )]
    There {
        /// Where it would go.
        place: String,
        /// Its id.
        book: Uuid,
    },
    /// The book that comes is there from before, with other entries.
    #[cfg(feature = "postgres")]
    #[error(
        "{place} has the book {book} from before it moved away, and its entry {seq} there is not the one that comes. Bring the book to a database that has not had it."
    )]
    OtherEntries {
        /// Where it would go.
        place: String,
        /// Its id.
        book: Uuid,
        /// The last entry there.
        seq: fettlebook_model::Seq,
    },
    /// There are several books, and none was named.
    #[cfg(feature = "postgres")]
    #[error("{place} has several books. Name one with --book-id ID.")]
    Several {
        /// Where they are.
        place: String,
    },
    /// A file or folder could not be used.
    #[error("{action} {} failed: {source}.", .path.display())]
    Disk {
        /// What was tried.
        action: &'static str,
        /// On which file or folder.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
}

fn holder_clause(holder: Option<&Holder>) -> String {
    holder.map_or_else(
        || " by another process".to_owned(),
        |holder| match &holder.address {
            Some(address) => format!(" at {address}, since {}", holder.since),
            None => format!(" by process {}, since {}", holder.process, holder.since),
        },
    )
}

/// Gives an I/O error its action and its path.
pub(crate) fn failed(action: &'static str, path: &Path) -> impl FnOnce(io::Error) -> StoreError {
    let path = path.to_owned();
    move |source| StoreError::Disk {
        action,
        path,
        source,
    }
}
