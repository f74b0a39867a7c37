//! How the client starts the service in its own process, without knowing anything of its inside.
//!
//! The root binary supplies the implementation. What crosses this line is a folder, a clock, a
//! channel and a way to finish; it must never carry a type of the model.

use std::fmt;
use std::future::Future;
use std::path::Path;
use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::AtomicI64;

use tonic::transport::Channel;

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
}

/// Whose time the service tells.
#[derive(Clone, Debug)]
pub enum SoloClock {
    /// The machine's.
    System,
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
    /// Files could not be read or written.
    Failed,
}
