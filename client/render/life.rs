//! The life of one piece: a line of how it stood over time, and how it stood after each entry.
//!
//! It serves `kit show`. Wear is told as a part of the rating, a bottle by what is left in it.

use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{DeedKind, Entry, LifePoint, Piece};

use crate::render::screen::{Screen, several};
use crate::render::{amount, gauge, spark};

/// Columns of the sheet that stand before and behind the line.
const BESIDE: usize = 48;
/// Shortest line that is drawn on a narrow page.
const ROOM_MIN: usize = 8;

/// Wear, or what is left, over the life of a piece, and what its highest bar means; empty for what
/// does not wear or had no time to.
pub(crate) fn line(screen: &Screen, piece: &Piece, points: &[LifePoint]) -> String {
    let (shares, all): (Vec<f64>, String) = match &piece.state {
        Some(State::Pad(_) | State::Plate(_)) => (
            points.iter().filter_map(|point| point.damage).collect(),
            "100 % of the rating".to_owned(),
        ),
        Some(State::Bottle(bottle)) => (
            points
                .iter()
                .filter_map(|point| point.left_ul)
                .map(|left| gauge::share(left, bottle.full_ul))
                .collect(),
            format!("all {}", amount::volume(bottle.full_ul)),
        ),
        Some(
            State::Machine(_)
            | State::Bundle(_)
            | State::Sundry(_)
            | State::Tool(_)
            | State::Battery(_),
        )
        | None => {
            return String::new();
        }
    };
    if shares.len() < 2 {
        return String::new();
    }
    let room = screen.width.saturating_sub(BESIDE).max(ROOM_MIN);
    let drawn = spark::line(screen, &shares, room);
    format!("{drawn} ({} is {all})", spark::highest(screen))
}

/// The entries of a life that stand, newest first, each with how the piece stood after it. What was taken
/// back is left out with what took it back.
pub(crate) fn standing(points: &[LifePoint]) -> Vec<(&Entry, String)> {
    let entries = points.iter().rev();
    let entries = entries.filter_map(|point| Some((point.entry.as_ref()?, after(point))));
    entries
        .filter(|(entry, _)| {
            let is_reversal = entry
                .deeds
                .iter()
                .any(|deed| deed.kind() == DeedKind::Reversed);
            entry.reversed_by_seq.is_none() && !is_reversal
        })
        .collect()
}

fn after(point: &LifePoint) -> String {
    if let Some(damage) = point.damage {
        return gauge::percent(damage);
    }
    if let Some(left) = point.left_ul {
        return amount::volume(left);
    }
    point
        .wash_count
        .map_or_else(String::new, |count| several(count, "wash", "washes"))
}
