//! What bottles truly hold, in microlitres: drawn from, weighed and binned when empty.
//!
//! It serves both simulated shops. The book is shown a weighing and never what a bottle holds.

use std::collections::BTreeMap;

use fettlebook_model::check::{JobCheck, LineKind};
use fettlebook_model::command::Weighing;
use fettlebook_model::{Book, Tag};

use crate::ledger::weight_of;
use crate::year::lines;

/// What is truly left in each bottle, µL.
pub(crate) type Bottles = BTreeMap<Tag, f64>;

/// Draws `open_ul` from bottles in this order; what could not be drawn comes back.
pub(crate) fn draw(
    bottles: &mut Bottles,
    tags: impl IntoIterator<Item = Tag>,
    mut open_ul: f64,
) -> f64 {
    for tag in tags {
        if let Some(left) = bottles.get_mut(&tag) {
            let taken = open_ul.min(*left);
            *left -= taken;
            open_ul -= taken;
        }
    }
    open_ul
}

/// Weighs every bottle that was opened, those of this job among them.
pub(crate) fn weigh_opened(bottles: &Bottles, book: &Book, check: &JobCheck) -> Vec<Weighing> {
    let picked: Vec<Tag> = lines(check, LineKind::Liquid)
        .flat_map(|line| line.picks.iter().map(|pick| pick.tag))
        .collect();
    bottles
        .iter()
        .filter(|(tag, _)| {
            let piece = book.piece(**tag).unwrap();
            let opened = piece.bottle().unwrap().opened_at.is_some();
            !piece.is_binned() && (opened || picked.contains(tag))
        })
        .map(|(tag, left)| Weighing {
            tag: *tag,
            gross_mg: weight_of(*left),
        })
        .collect()
}

/// Takes out bottles that are truly empty.
pub(crate) fn take_empty(bottles: &mut Bottles) -> Vec<Tag> {
    let empty = bottles.extract_if(.., |_, left| *left < 1.0);
    empty.map(|(tag, _)| tag).collect()
}
