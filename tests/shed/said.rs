//! What is said to the book, and the entry it becomes.

use fettlebook_model::command::{LooseLog, Receipt, Said};
use fettlebook_model::{BodyHash, Book, Decision, Entry, Format, Moment};
use uuid::Uuid;

use super::id;

/// A receipt of whole pieces on the bench.
#[must_use]
pub fn receipt(make: &str, piece_count: i64) -> Receipt {
    Receipt {
        said: Said::default(),
        make: id(make),
        place: id("bench"),
        piece_count,
        tags: Vec::new(),
        towel_count: 0,
        lot: String::new(),
        expiry: None,
        volume_ul: None,
        tare_mg: None,
        quantity: None,
        towel_grade: None,
        work: None,
        wash_count: None,
        check_due: None,
        run_time: None,
        change_count: None,
        charge_count: None,
        landed: None,
        landed_quantity: None,
    }
}

/// A loose use of nothing yet.
#[must_use]
pub fn loose() -> LooseLog {
    LooseLog {
        said: Said::default(),
        step: None,
        machine: None,
        plate: None,
        section_count: 0,
        pads: Vec::new(),
        bottles: Vec::new(),
        bundles: Vec::new(),
        sundries: Vec::new(),
        weighings: Vec::new(),
    }
}

/// The next entry of a book, of what was decided at a moment. Its request and the hash of its body are
/// nothing: whoever needs them sets them.
#[must_use]
pub fn entry(book: &Book, decision: Decision, by: &str, now: Moment) -> Entry {
    Entry {
        seq: book.head().next(),
        format: Format::of(&decision.deeds, decision.comes_late),
        book_id: None,
        recorded_at: now,
        done_at: decision.done_at,
        request: Uuid::nil(),
        body: BodyHash([0; 16]),
        by: by.to_owned(),
        deeds: decision.deeds,
        flags: decision.flags,
        note: decision.note,
        kept: decision.kept,
    }
}
