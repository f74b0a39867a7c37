//! Books that are made in an engine out of entries that were recorded before.
//!
//! It serves shops whose books are in PostgreSQL. All of a book comes in one transaction or nothing does, as
//! another life of the book.

mod error;
mod mend;
mod restore;
mod rows;

pub use error::InEngineError;
pub use mend::{MendInEngine, MendedInEngine, mend_in_engine};
pub use restore::{RestoredInEngine, restore_in_engine};
