//! What would be there if it were not elsewhere: said where something is short.
//!
//! Serves the check. Nobody is sent for what another van carries, nor for what cannot be there in time.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::line::{Line, local};
use super::{LineKind, Verdict};
use crate::ground::ids::{Place, Tag, list};
use crate::ready::pick::{Reach, Scene};
use crate::trade::kit::{Piece, Readiness};

/// Names, of lines that are short, what of their make is elsewhere.
pub(super) fn say_away(scene: &Scene<'_>, lines: &mut [Line]) {
    for line in lines.iter_mut().filter(|line| line.short > 0) {
        // Plates are of any make, and named with those that do not fit.
        if line.kind == LineKind::Plate {
            continue;
        }
        if let Some(make) = line.make.clone() {
            say_where(line, scene, scene.book.pieces_of(&make));
        }
    }
}

/// Names which of these pieces are elsewhere, and what could be done about it.
pub(super) fn say_where<'a>(
    line: &mut Line,
    scene: &Scene<'_>,
    pieces: impl Iterator<Item = &'a Arc<Piece>>,
) {
    let mut away: BTreeMap<(Reach, &Place), Vec<Tag>> = BTreeMap::new();
    for piece in pieces {
        let is_fit = !matches!(piece.readiness, Readiness::Aside(_) | Readiness::Binned(_));
        let reach = scene.reach(piece);
        if is_fit && !reach.is_in_time() {
            away.entry((reach, &piece.place))
                .or_default()
                .push(piece.tag);
        }
    }
    for ((reach, place), tags) in away {
        let tags = list(&tags);
        if reach == Reach::OfAnother {
            let why = format!("{tags} at {place}, which has jobs or kit of its own.");
            line.raise(Verdict::Go, why);
        } else {
            line.raise(
                Verdict::Go,
                format!(
                    "{tags} at {place}: too late to be brought, which was to be by {}.",
                    local(scene, scene.bring_by)
                ),
            );
            line.todo(format!(
                "Or start later, once {tags} has been brought from {place}."
            ));
        }
    }
}
