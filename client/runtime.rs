//! The runtime of one command: one thread, which is enough for it and the quickest to start.

use crate::fault::Fault;

/// A runtime.
///
/// # Errors
/// When the machine gives none.
pub(crate) fn runtime() -> Result<tokio::runtime::Runtime, Fault> {
    tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .map_err(|error| Fault::file("the runtime", &error))
}
