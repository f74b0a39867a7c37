//! How much room a book takes, and how much is left.

/// Room on the disk of a book.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Space {
    /// Bytes of the journal's files, space set aside among them.
    pub journal_bytes: u64,
    /// Bytes of the shelf's files.
    pub shelf_bytes: u64,
    /// Bytes that whoever runs this may still write; none where the system does not say.
    pub free_bytes: Option<u64>,
    /// Bytes of the whole file system.
    pub size_bytes: Option<u64>,
}
