//! Who may use a book: the roles that a device may have.
//!
//! It serves the edge, which asks it about every caller, and `fettled`, which lets devices in. It
//! knows nothing of what the book holds.

mod role;

pub use role::Role;
