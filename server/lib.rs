//! The service of a paint-correction practitioner's kit book.
//!
//! It serves people through the edge, and keeps what they report: the [`journal`] is the truth, in a
//! [`store`]; the [`shelf`] a copy for speed, and the [`desk`] the one place where anything changes. The rules of
//! the trade are in `fettlebook_model`; none may be written here.

pub mod access;
mod args;
pub mod desk;
pub mod edge;
mod formats;
pub mod journal;
pub mod keep;
pub mod limits;
pub mod meters;
pub mod serve;
pub mod shelf;
pub mod solo;
pub mod store;
#[cfg(test)]
mod testing;
