//! Which tools are there: those of the make that a routine names, else others of the same sort.

use std::sync::Arc;

use super::Scene;
use crate::Book;
use crate::ground::ids::{Id, Tag};
use crate::trade::kit::{Piece, Readiness};
use crate::trade::make::Figures;
use crate::trade::tool::ToolKind;

/// Tools for a need.
#[derive(Debug, Clone, Default)]
pub(crate) struct ToolOffer {
    /// Those that can be taken, best first: checked in time, at the place, of the make named.
    pub ready: Vec<Arc<Piece>>,
    /// Those that are set aside.
    pub aside: Vec<Tag>,
}

/// Tools that do for a make on the day of the job.
pub(crate) fn offer_tools(scene: &Scene<'_>, make: &Id) -> ToolOffer {
    let mut offer = ToolOffer::default();
    let free = scene.free(|piece| piece.tool().is_some() && does_for(scene.book, piece, make));
    for piece in scene.book.pieces() {
        // Of some hundred pieces a handful are tools; only for them are makes looked up.
        if piece.tool().is_none() || !does_for(scene.book, piece, make) {
            continue;
        }
        match piece.readiness {
            Readiness::Ready if free.has(piece) => offer.ready.push(Arc::clone(piece)),
            Readiness::Aside(_) => offer.aside.push(piece.tag),
            Readiness::Ready | Readiness::Soiled | Readiness::Drying(_) | Readiness::Binned(_) => {}
        }
    }
    offer.ready.sort_by_key(|piece| {
        let overdue = piece.tool().and_then(|tool| tool.overdue_on(scene.day));
        let other_make = piece.make != *make;
        (overdue.is_some(), scene.reach(piece), other_make, piece.tag)
    });
    offer
}

/// Whether a piece is a tool of this make, or of the same sort: one gauge measures as well as another.
fn does_for(book: &Book, piece: &Piece, make: &Id) -> bool {
    let kind = |id: &Id| match &book.make(id)?.figures {
        Figures::Tool(tool) => Some(tool.kind),
        _ => None,
    };
    let named = kind(make).filter(|kind| *kind != ToolKind::Other);
    piece.make == *make || (named.is_some() && kind(&piece.make) == named)
}
