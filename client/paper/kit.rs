//! The kit on paper, for a stock-take: a list a place, with a box for each piece and room for what is left.

use std::collections::BTreeMap;

use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{Piece, Unit};
use minijinja::{Value, context};

use super::Ground;
use crate::fault::Fault;
use crate::render::screen::several;
use crate::render::tint::clean;
use crate::render::{gauge, kit, tags};

const TEMPLATE: (&str, &str) = ("kit.html", include_str!("kit.html"));
/// What is said where nothing is on the list.
const NOTHING: &str = "Nothing in the kit is so.";

/// The pieces, place by place, each on pages of its own.
///
/// # Errors
/// When the sheet cannot be laid out.
pub(crate) fn html(ground: &Ground<'_>, pieces: &[Piece]) -> Result<String, Fault> {
    let mut places: BTreeMap<&str, Vec<&Piece>> = BTreeMap::new();
    for piece in pieces {
        places.entry(&piece.place).or_default().push(piece);
    }
    let places = places.into_iter().map(|(name, mut pieces)| {
        pieces.sort_by_key(|piece| tags::order(&piece.tag));
        let count = i64::try_from(pieces.len()).unwrap_or(i64::MAX);
        let rows = pieces.into_iter().map(|piece| row(ground, piece));
        context! {
            name => clean(name),
            count => several(count, "piece", "pieces"),
            pieces => rows.collect::<Value>(),
        }
    });
    let told = context! { nothing => NOTHING, places => places.collect::<Value>() };
    ground.sheet(TEMPLATE, "Kit", told)
}

fn row(ground: &Ground<'_>, piece: &Piece) -> Value {
    context! {
        tag => clean(&piece.tag),
        what => clean(&piece.make_name),
        state => clean(&kit::standing(ground.screen, piece)),
        worn => worn(piece),
        left => kit::left(piece),
        unit => unit(piece),
    }
}

/// How worn it is, as a figure: bars do not print alike everywhere.
fn worn(piece: &Piece) -> String {
    match &piece.state {
        Some(State::Pad(pad)) => gauge::percent(pad.damage),
        Some(State::Plate(plate)) => gauge::percent(plate.damage),
        Some(State::Battery(battery)) => gauge::percent(battery.damage),
        Some(
            State::Machine(_)
            | State::Bundle(_)
            | State::Bottle(_)
            | State::Sundry(_)
            | State::Tool(_),
        )
        | None => String::new(),
    }
}

/// In what is written down how much there is; empty for what is there or not.
fn unit(piece: &Piece) -> &'static str {
    match &piece.state {
        Some(State::Bottle(_)) => "g",
        Some(State::Bundle(_)) => "towels",
        Some(State::Sundry(sundry)) => match Unit::try_from(sundry.unit) {
            Ok(Unit::Pair) => "pairs",
            Ok(Unit::Millimetre) => "m",
            Ok(Unit::Microlitre) => "mL",
            _ => "pieces",
        },
        Some(
            State::Pad(_)
            | State::Plate(_)
            | State::Machine(_)
            | State::Tool(_)
            | State::Battery(_),
        )
        | None => "",
    }
}
