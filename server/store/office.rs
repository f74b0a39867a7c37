//! What a book answers, laid out beside it for those who look at all books at once.
//!
//! It serves the office. Whoever has the writer's right lays it out, and whoever has lost it lays out nothing
//! more. Nothing that is recorded waits for it.

use std::fmt::Debug;
use std::io;
use std::time::Duration;

use fettlebook_model::Seq;
use uuid::Uuid;

/// A row of an answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OfficeRow {
    /// Of which list.
    pub list: &'static str,
    /// What tells it from the others of that list, in their order.
    pub key: String,
    /// The row as JSON, in the contract's names.
    pub text: String,
}

/// A shop as it was laid out last.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShopLine {
    /// Id of its book.
    pub book: Uuid,
    /// What people call it.
    pub name: Option<String>,
    /// Its line as JSON; none where it was never laid out.
    pub told: Option<String>,
    /// What of the line is for those who see prices.
    pub cost: Option<String>,
    /// How long ago it was laid out, by the one clock that all have in common; none where it never was.
    pub age: Option<Duration>,
}

/// Where a book's answers are laid out.
pub trait Office: Debug + Send + Sync {
    /// Up to which entry its deeds stand there.
    ///
    /// # Errors
    /// When that cannot be read.
    fn deeds_until(&self) -> io::Result<Seq>;

    /// Adds the deeds up to an entry, in place of those that stand there of the same; false where the right is
    /// another's by now.
    ///
    /// # Errors
    /// When nothing of it is certain to be there.
    fn add_deeds(&self, until: Seq, rows: Vec<OfficeRow>) -> io::Result<bool>;

    /// Lays out all else in place of what stood there, as of an entry and this moment; false where the right is
    /// another's by now.
    ///
    /// # Errors
    /// When nothing of it is certain to be there.
    fn lay_out(&self, as_of: Seq, rows: Vec<OfficeRow>) -> io::Result<bool>;
}
