//! How the pads of a step are cleaned while it is worked: as the step says, else by the brush at hand.

use crate::Book;
use crate::ground::ids::Place;
use crate::trade::cleaning::Cleaning;
use crate::trade::job::Step;
use crate::trade::kit::{Piece, Readiness};
use crate::trade::make::Figures;
use crate::trade::tool::ToolKind;

/// Whether a pad brush stands ready at a place.
pub(super) fn brush_at(book: &Book, place: &Place) -> bool {
    let is_ready = |piece: &Piece| piece.readiness == Readiness::Ready && piece.place == *place;
    let is_brush = |piece: &Piece| match book.make(&piece.make).map(|make| &make.figures) {
        Some(Figures::Tool(tool)) => tool.kind == ToolKind::PadBrush,
        _ => false,
    };
    // Of some hundred pieces a handful are tools; only for them are makes looked up.
    book.pieces()
        .filter(|piece| piece.tool().is_some())
        .any(|piece| is_ready(piece) && is_brush(piece))
}

/// How the pads of a step are cleaned: as it says, else between panels where a brush is at hand. An
/// applicator is not brushed unless its step says so.
pub(super) fn cleaning_of(step: &Step, has_brush: bool) -> Cleaning {
    let usual = if has_brush && !step.is_by_hand() {
        Cleaning::BetweenPanels
    } else {
        Cleaning::None
    };
    step.cleaning.unwrap_or(usual)
}
