//! What a start would set up, and what it did: in numbers, and the tags to write on the things.

use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{DeedKind, Entry, Piece, StartResponse};

use crate::render::screen::{Screen, several};
use crate::render::table::{Column, table};
use crate::render::tags::ranges;
use crate::render::{amount, entry, tint};

/// A look at a start: what it would record, or what is wrong.
pub(crate) fn looked(screen: &Screen, answer: &StartResponse) -> String {
    match &answer.entry {
        Some(entry) => format!(
            "Would set up {}. Nothing is recorded yet.{}",
            counts(entry),
            entry::flags(screen, entry)
        ),
        None => {
            let lines = answer.problems.iter().map(|problem| {
                let row = match problem.line {
                    0 => String::new(),
                    row => format!("Row {row}: "),
                };
                screen.hung("", "  ", &format!("{row}{} {}", problem.text, problem.todo))
            });
            lines.collect::<Vec<_>>().join("\n")
        }
    }
}

/// What a start set up, and the tags to write on the things.
pub(crate) fn begun(screen: &Screen, answer: &StartResponse, pieces: &[Piece]) -> String {
    let Some(entry) = &answer.entry else {
        return String::new();
    };
    let what = screen.hung("  ", "  ", &format!("Set up: {}.", counts(entry)));
    let mut page = entry::summed_up(screen, entry, &what);
    if !pieces.is_empty() {
        page.push_str(&format!(
            "\n\n{}\n{}",
            tint::strong("Write these tags on the things"),
            tags(screen, pieces)
        ));
    }
    page
}

/// How much of each sort of thing an entry set up.
fn counts(entry: &Entry) -> String {
    let of = |kind: DeedKind| {
        let deeds = entry.deeds.iter().filter(|deed| deed.kind() == kind);
        i64::try_from(deeds.count()).unwrap_or(i64::MAX)
    };
    let counts = [
        (of(DeedKind::MakeSet), "make", "makes"),
        (of(DeedKind::RoutineSet), "routine", "routines"),
        (of(DeedKind::Received), "piece", "pieces"),
        (of(DeedKind::CarSet), "car", "cars"),
        (of(DeedKind::JobSet), "job", "jobs"),
    ];
    let told = counts
        .into_iter()
        .filter(|(count, _, _)| *count > 0)
        .map(|(count, one, many)| several(count, one, many));
    told.collect::<Vec<_>>().join(", ")
}

/// Tags in ranges, by what they are for, and what is in the things.
fn tags(screen: &Screen, pieces: &[Piece]) -> String {
    let mut groups: Vec<(String, Vec<&str>)> = Vec::new();
    for piece in pieces {
        let what = format!("{}{}", piece.make_name, standing(piece));
        match groups.iter_mut().find(|(known, _)| *known == what) {
            Some((_, tags)) => tags.push(&piece.tag),
            None => groups.push((what, vec![&piece.tag])),
        }
    }
    let rows = groups
        .iter()
        .map(|(what, tags)| vec![ranges(tags), what.clone()]);
    table(
        screen,
        &[("Tag", Column::Text), ("What", Column::Text)],
        rows,
    )
}

/// What tells a thing from a new one of its make.
fn standing(piece: &Piece) -> String {
    match &piece.state {
        Some(State::Pad(pad)) if pad.use_count > 0 => {
            format!(", {} done", several(pad.use_count, "job", "jobs"))
        }
        Some(State::Bottle(bottle)) if bottle.left_ul < bottle.full_ul => {
            format!(", {} left", amount::volume(bottle.left_ul))
        }
        Some(State::Bundle(bundle)) => {
            format!(", {}", several(bundle.clean_count, "towel", "towels"))
        }
        Some(State::Sundry(sundry)) => {
            format!(
                ", {}",
                amount::quantity(sundry.left_quantity, sundry.unit())
            )
        }
        _ => String::new(),
    }
}
