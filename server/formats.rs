//! The formats that this program reads and writes, in one place for whoever asks which they are.

use fettlebook_model::Format;
use fettlebook_solo::SoloFormat;

use crate::desk::{BACKUP_FORMAT, COPY_FORMAT};
use crate::store::folder::BOOK_FORMAT;

/// The formats of entries, books, backups and copies.
pub(crate) fn formats() -> Vec<SoloFormat> {
    let only = |what, newest| SoloFormat {
        what,
        oldest: newest,
        newest,
    };
    vec![
        SoloFormat {
            what: "entries",
            oldest: Format::FIRST.number(),
            newest: Format::NEWEST.number(),
        },
        only("books", BOOK_FORMAT),
        only("backups", BACKUP_FORMAT),
        only("copies", COPY_FORMAT),
    ]
}
