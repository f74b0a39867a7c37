//! How the client starts the service in its own process, and has folders written and read that only
//! the service's side understands, without knowing anything of its inside.
//!
//! The service's crate implements it (`server/solo/in_process.rs`). What crosses this line is a folder,
//! a clock, a channel, bytes and plain facts; it must never carry a type of the model.

mod mended;
mod version;

use std::fmt;
use std::future::Future;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::AtomicI64;

use jiff::Timestamp;
use tonic::transport::Channel;

pub use mended::{entries, other_way};
pub use version::{SoloFormat, SoloProgram};

/// A future that stays on the client's own thread.
pub type Local<'a, T> = Pin<Box<dyn Future<Output = T> + 'a>>;

/// Starts the service in this process on a data folder.
pub trait Solo: Send + Sync {
    /// Opens the book in `folder`, begins one where there is none, and answers with a channel to it.
    ///
    /// # Errors
    /// When another process holds the book, when it is damaged, or when its files cannot be read.
    fn open<'a>(
        &'a self,
        folder: &'a Path,
        clock: SoloClock,
    ) -> Local<'a, Result<SoloSession, SoloError>>;

    /// Opens the book in `folder` only to look at it, which is sooner done: no deed may be sent. Otherwise
    /// like [`Solo::open`].
    ///
    /// # Errors
    /// Those of [`Solo::open`].
    fn look<'a>(
        &'a self,
        folder: &'a Path,
        clock: SoloClock,
    ) -> Local<'a, Result<SoloSession, SoloError>>;

    /// The way to the service that another process of the same person has on the book in `folder`; nothing where
    /// there is none.
    fn reach<'a>(&'a self, folder: &'a Path) -> Local<'a, Option<Channel>>;

    /// Opens the book in `folder` and serves it over TLS to paired devices and to telephones, and to other
    /// processes of the same person, until it is finished.
    ///
    /// # Errors
    /// Those of [`Solo::open`], and when nothing can listen there, or a certificate cannot be served.
    fn serve<'a>(
        &'a self,
        asked: &'a SoloServe,
        clock: SoloClock,
    ) -> Local<'a, Result<SoloServed, SoloError>>;

    /// Makes a pairing code, in its long form, for the person at this machine as a device that owns the
    /// book in `folder`. Whoever had the name is shut out once it is used.
    ///
    /// # Errors
    /// When the name cannot be given, or the files of devices cannot be read or written.
    fn invite(&self, folder: &Path, name: &str) -> Result<String, SoloError>;

    /// The formats that the service reads and writes.
    fn formats(&self) -> Vec<SoloFormat>;

    /// Begins a backup in a folder that must be new or empty.
    ///
    /// # Errors
    /// When it is not, or cannot be written.
    fn begin_backup(&self, to: &Path) -> Result<Box<dyn BackupInto>, SoloError>;

    /// Begins a backup of a book in a new folder in `into`, named by its moment; gives that too.
    ///
    /// # Errors
    /// When it cannot be written.
    fn begin_backup_into(
        &self,
        into: &Path,
        book_id: &str,
        now: Timestamp,
    ) -> Result<(PathBuf, Box<dyn BackupInto>), SoloError>;

    /// Takes the oldest backups of a book in `into` away, so that so many are left. Nothing else there is touched.
    ///
    /// # Errors
    /// When the disk fails.
    fn prune_backups(
        &self,
        into: &Path,
        book_id: &str,
        keep: usize,
        now: Timestamp,
    ) -> Result<SoloPruned, SoloError>;

    /// Makes a book in the new folder `to` of the backup in `from`.
    ///
    /// # Errors
    /// When the backup is not whole, or `to` holds something or cannot be written.
    fn restore(&self, from: &Path, to: &Path) -> Result<SoloBackup, SoloError>;

    /// Verifies the backup in a folder and begins to compare a book with it.
    ///
    /// # Errors
    /// When the backup is not whole, or is of another book.
    fn begin_against(
        &self,
        backup: &Path,
        book: &SoloBookSaid,
    ) -> Result<Box<dyn AgainstBackup>, SoloError>;

    /// Says what a mended book would hold, and makes it when asked to.
    ///
    /// # Errors
    /// When nothing can be kept, or a folder is not what it should be.
    fn mend(&self, asked: &SoloMend) -> Result<SoloMended, SoloError>;

    /// Takes entry `seq` for the last one of the book in a folder whose journal ends with it and with
    /// bytes that are no whole entry, and gives how many bytes were put aside.
    ///
    /// # Errors
    /// When the journal does not end so, another process holds the book, or the disk fails.
    fn accept_end(&self, folder: &Path, seq: i64) -> Result<i64, SoloError>;

    /// Opens the outbox in `folder`, and begins one where there is none. Nobody else has it open
    /// until it is dropped.
    ///
    /// # Errors
    /// When another process has it for long, its lines are damaged, or the disk fails.
    fn open_outbox(&self, folder: &Path) -> Result<Box<dyn OutboxFile>, SoloError>;

    /// Reads what can still be read of a damaged outbox; changes nothing.
    ///
    /// # Errors
    /// When another process has it for long, or a file cannot be read.
    fn rescue_outbox(&self, folder: &Path) -> Result<SoloRescued, SoloError>;

    /// Puts a new outbox of these lines in the place of a damaged one, and gives the folder that the
    /// damaged one is kept in from now on. Whenever it is broken off, one of the two is there whole.
    ///
    /// # Errors
    /// When another process has it for long, or the disk fails.
    fn replace_outbox(&self, folder: &Path, lines: &[Vec<u8>]) -> Result<PathBuf, SoloError>;

    /// Keeps every other process from opening the outbox in `folder` until what is given is dropped.
    /// There need not be one.
    ///
    /// # Errors
    /// When another process has it for long, or the disk fails.
    fn hold_outbox(&self, folder: &Path) -> Result<Box<dyn OutboxHeld>, SoloError>;

    /// How the copy of a shop's book in `folder` stands; `None` where there is none that could be
    /// gone on with, so that it has to begin with the shop's first entry.
    ///
    /// # Errors
    /// When another process holds it, when the folder is not one of a copy, or cannot be read.
    fn copy_standing(&self, folder: &Path) -> Result<Option<SoloCopy>, SoloError>;

    /// Goes on with the copy in `folder`, or begins it, with the entries that follow on its last one.
    /// A copy of another book, of another incarnation, or with prices where they may not be seen any
    /// more, is thrown away first and begins anew with the shop's first entry: whoever gets a copy
    /// with a lower `head_seq` back goes on from there.
    ///
    /// # Errors
    /// When the entries do not follow on what is there, which may have been thrown away: ask for its
    /// standing again. When another process holds it, or the disk fails.
    fn extend_copy(
        &self,
        folder: &Path,
        of: &SoloCopyOf,
        entries: &[Vec<u8>],
    ) -> Result<SoloCopy, SoloError>;

    /// Serves the copy in `folder`: reads as the shop would answer them, and deeds that can be kept
    /// only imagined, so that later reads count with them. Nothing is recorded.
    ///
    /// # Errors
    /// When there is no copy, when it is damaged, or when another process holds it.
    fn open_copy<'a>(&'a self, folder: &'a Path) -> Local<'a, Result<SoloSession, SoloError>>;
}

/// An outbox that is open: lines, each one JSON object, in the order they were written.
pub trait OutboxFile {
    /// The lines.
    fn lines(&self) -> &[Vec<u8>];

    /// Writes lines behind the others, all or none; when it returns they survive loss of power.
    ///
    /// # Errors
    /// When the disk has no room or fails; then none of them counts.
    fn append(&mut self, lines: &[Vec<u8>]) -> Result<(), SoloError>;
}

/// An outbox that nobody else opens until this is dropped.
pub trait OutboxHeld {}

/// What can still be read of a damaged outbox.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SoloRescued {
    /// Its lines in order; nothing in the place of one that cannot be read.
    pub lines: Vec<Option<Vec<u8>>>,
}

/// How the copy of a shop's book stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SoloCopy {
    /// The book.
    pub book_id: String,
    /// The incarnation of it.
    pub incarnation_id: String,
    /// The last entry it has; 0 for none.
    pub head_seq: i64,
    /// When the shop sent what was last put into it, by the shop's clock.
    pub as_of_time: Timestamp,
}

/// What a copy is of, and for whom.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SoloCopyOf {
    /// The book.
    pub book_id: String,
    /// The incarnation of it.
    pub incarnation_id: String,
    /// The name by which the shop knows this device.
    pub caller: String,
    /// What this device may do: look, work, keep or own.
    pub role: String,
    /// When the shop sent the entries, by the shop's clock.
    pub as_of_time: Timestamp,
}

/// A backup that is being written.
pub trait BackupInto {
    /// Takes the next bytes of a file, as the service sends them.
    ///
    /// # Errors
    /// When it is not a file of a backup, or the disk fails.
    fn take(&mut self, file: &str, content: &[u8]) -> Result<(), SoloError>;

    /// Ends the backup, reads all of it back and verifies it.
    ///
    /// # Errors
    /// When the disk fails or the copy is not what was sent.
    fn finish(self: Box<Self>) -> Result<SoloBackup, SoloError>;
}

/// What became of the oldest backups in a folder.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SoloPruned {
    /// Those that were taken away.
    pub removed: Vec<PathBuf>,
    /// Those that were left though there are enough, because something else lies in them.
    pub left: Vec<PathBuf>,
}

/// A book that is being compared with a backup.
pub trait AgainstBackup {
    /// Takes the next bytes of a file of the book, as the service sends them for a backup.
    ///
    /// # Errors
    /// When they are not a journal's, or the backup cannot be read.
    fn take(&mut self, file: &str, content: &[u8]) -> Result<(), SoloError>;

    /// How the book, which ends here, stands to the backup.
    fn finish(self: Box<Self>) -> SoloBeside;
}

/// What a service says of its book.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SoloBookSaid {
    /// The book.
    pub book_id: String,
    /// The incarnation of it; empty for a book as it was begun.
    pub incarnation_id: String,
    /// The last entry that the incarnation began with.
    pub incarnation_seq: i64,
}

/// A book and a backup that were compared.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SoloBeside {
    /// What the backup holds.
    pub backup: SoloBackup,
    /// The last entry of the book.
    pub book_head_seq: i64,
    /// How their histories stand to each other.
    pub histories: SoloHistories,
}

/// How the histories of a book and of a backup stand to each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SoloHistories {
    /// The book has every entry of the backup.
    Agree,
    /// The book ends before the backup does, and lacks entries from this one on.
    Lacks(i64),
    /// One of the two was rewritten from this entry on.
    Rewritten(i64),
    /// The backup is of another incarnation, which goes its own way from this entry on.
    OtherIncarnation(i64),
}

/// What a backup that was read and found whole holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SoloBackup {
    /// The book.
    pub book_id: String,
    /// The incarnation of it.
    pub incarnation_id: String,
    /// Its last entry; 0 for an empty one.
    pub head_seq: i64,
    /// The chain value of that.
    pub head_chain: String,
    /// When it was made.
    pub made_time: Timestamp,
    /// Files, the manifest not counted.
    pub file_count: i64,
    /// Bytes of those.
    pub byte_count: i64,
}

/// What is to be mended, and how.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SoloMend {
    /// Folder of the damaged book.
    pub from: PathBuf,
    /// Folder for the mended one.
    pub to: PathBuf,
    /// Folder of a backup that may supply what is missing.
    pub backup: Option<PathBuf>,
    /// Whether to make it; otherwise only what it would hold is told.
    pub write: bool,
}

/// What a mended book holds, or would.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SoloMended {
    /// The book.
    pub book_id: String,
    /// The last entry kept.
    pub head_seq: i64,
    /// The chain value of that.
    pub head_chain: String,
    /// What is wrong first, as a clause that names the entry; empty when every line is whole.
    pub damage: String,
    /// The first bad entry; 0 when every line is whole.
    pub first_bad_seq: i64,
    /// First and last of each run of entries that the backup supplies.
    pub taken: Vec<(i64, i64)>,
    /// How the backup's history stands to the damaged book's; `Agree` without a backup.
    pub histories: SoloHistories,
    /// What is left out.
    pub left_out: Vec<SoloLeftOut>,
    /// True when the only thing wrong is a last write that was cut off.
    pub only_torn: bool,
}

/// Bytes of a damaged book that are left out of the mended one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SoloLeftOut {
    /// Name of the file below the folder of the book.
    pub file: String,
    /// Bytes of the file before it.
    pub offset: i64,
    /// Its length.
    pub byte_count: i64,
    /// Why, as a clause.
    pub why: String,
}

/// Whose time the service tells.
#[derive(Clone, Debug)]
pub enum SoloClock {
    /// The machine's.
    System,
    /// The machine's, of which the person says that it is right.
    Accepted,
    /// A told story's: microseconds since 1970, UTC.
    Story(Arc<AtomicI64>),
}

/// A running service in this process.
pub struct SoloSession {
    /// The way to it.
    pub channel: Channel,
    /// What was found on opening that the person should know, a sentence each.
    pub notices: Vec<String>,
    /// Drains what is on its way and closes the book.
    pub finish: Local<'static, ()>,
}

impl fmt::Debug for SoloSession {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("SoloSession").finish_non_exhaustive()
    }
}

/// How a book is served from this process.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SoloServe {
    /// Folder of the book.
    pub folder: PathBuf,
    /// Where it listens.
    pub listen: SoloListen,
    /// Certificate to show instead of the book's own, and its key, both in PEM.
    pub certificate: Option<(PathBuf, PathBuf)>,
}

/// Where a service listens.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SoloListen {
    /// On this machine alone.
    Here,
    /// Where this machine is reached in its own network.
    Found,
    /// There.
    At(SocketAddr),
}

/// A book that is served from this process.
pub struct SoloServed {
    /// The way to it for this process, as whoever owns the book; its end stops the service.
    pub session: SoloSession,
    /// Where others reach it, HOST:PORT.
    pub address: String,
    /// Comes true when a person has asked this process to end, or the service has ended by itself.
    pub asked_to_end: Local<'static, Result<(), SoloError>>,
}

/// Why the book could not be opened.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SoloError {
    /// A sentence for the person: what, where, what to do.
    pub message: String,
    /// What kind of trouble it is; it decides the exit code.
    pub kind: SoloErrorKind,
}

/// Kinds of trouble with opening a book.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SoloErrorKind {
    /// Another process holds the book.
    Held,
    /// Damage was found in the book's files.
    Damaged,
    /// A later program wrote what is in the folder, and it is not understood here.
    Newer,
    /// The folder is not one for that: it holds something, or is a backup, or is none.
    WrongFolder,
    /// Nothing can listen there.
    NoAddress,
    /// Files could not be read or written.
    Failed,
}
