//! How the pads of a step are cleaned while it is worked: as the step says, else by the brush at hand.

use crate::Book;
use crate::ground::ids::Place;
use crate::trade::cleaning::Cleaning;
use crate::trade::job::Step;
use crate::trade::kit::{Piece, Readiness};
use crate::trade::make::{Figures, Make};
use crate::trade::tool::ToolKind;

/// Whether a pad brush stands ready at a place.
pub(super) fn brush_at(book: &Book, place: &Place) -> bool {
    let is_ready = |piece: &Piece| piece.readiness == Readiness::Ready && piece.place == *place;
    let is_brush = |make: &Make| match &make.figures {
        Figures::Tool(tool) => tool.kind == ToolKind::PadBrush,
        _ => false,
    };
    let mut brushes = book.makes().filter(|make| is_brush(make));
    brushes.any(|make| book.pieces_of(&make.id).any(|piece| is_ready(piece)))
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
