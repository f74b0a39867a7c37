//! What a cost is for and why it differs, in words.
//!
//! Serves the cost sheet. A difference names its cause; it says nothing where there is none.

use fettlebook_quantity::{Volume, exact_f64, round_to_i64};

use super::CostKind;
use super::amounts::{Amount, MILLIONTHS, Spread};
use crate::Book;
use crate::ground::ids::Id;
use crate::ground::ids::list;
use crate::trade::make::{Figures, Unit};

/// What is costed: the name of the make and how much of it.
pub(super) fn text(book: &Book, kind: CostKind, make: &Id, quantity: i64) -> String {
    let name = book
        .make(make)
        .map_or_else(|| make.to_string(), |make| make.name.clone());
    format!("{name}, {}", amount(book, kind, make, quantity))
}

fn amount(book: &Book, kind: CostKind, make: &Id, quantity: i64) -> String {
    match kind {
        CostKind::Liquid => Volume::from_ul(quantity).to_string(),
        CostKind::Pads | CostKind::Plates => {
            format!("{} % of a life", percent(quantity))
        }
        CostKind::Towels if quantity == 1 => "1 towel".to_owned(),
        CostKind::Towels => format!("{quantity} towels"),
        CostKind::Sundries => {
            let unit = match book.make(make).map(|make| &make.figures) {
                Some(Figures::Sundry(sundry)) => sundry.unit,
                _ => Unit::Piece,
            };
            unit.show(quantity)
        }
    }
}

fn percent(millionths: i64) -> i64 {
    round_to_i64(exact_f64(millionths) / MILLIONTHS * 100.0)
}

/// Why what was used differs from what was expected; empty where it does not.
pub(super) fn difference(book: &Book, expected: &Spread, used: &Amount) -> String {
    let lost = used
        .lost
        .iter()
        .fold(0_i64, |sum, (_, lost)| sum.saturating_add(*lost));
    let apart = used
        .quantity
        .saturating_sub(lost)
        .saturating_sub(expected.typical);
    let mut said = Vec::new();
    let told = amount(book, used.kind, &used.make, apart.saturating_abs());
    let is_nothing = match used.kind {
        CostKind::Pads | CostKind::Plates => percent(apart) == 0,
        CostKind::Liquid | CostKind::Towels | CostKind::Sundries => apart == 0,
    };
    if !is_nothing {
        let way = if apart > 0 { "more" } else { "less" };
        said.push(format!("{told} {way} than expected."));
    }
    if !used.lost.is_empty() {
        let tags: Vec<_> = used.lost.iter().map(|(tag, _)| *tag).collect();
        said.push(format!(
            "{} wore out early: {} % of a life is lost.",
            list(&tags),
            percent(lost)
        ));
    }
    said.join(" ")
}
