//! Books that are made in an engine out of entries that were recorded before.
//!
//! It serves shops whose books are in PostgreSQL. All of a book comes in one transaction or nothing does, as
//! another life of the book, and what is read from is never written to.

mod error;
mod restore;

pub use error::InEngineError;
pub use restore::{RestoredInEngine, restore_in_engine};
