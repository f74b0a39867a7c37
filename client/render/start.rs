//! What a start would set up, and what it did: in numbers, and the tags to write on the things.

use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{DeedKind, Entry, Piece, StartResponse, StarterKit, StarterMake};

use crate::figures::FIGURES;
use crate::render::screen::{Screen, several};
use crate::render::table::{Column, table};
use crate::render::tags::ranges;
use crate::render::{amount, entry, tint};
use crate::word::word;

/// A look at a start: what it would record, or what is wrong.
pub(crate) fn looked(screen: &Screen, answer: &StartResponse) -> String {
    match &answer.entry {
        Some(entry) => {
            let told = format!("Would set up {}. Nothing is recorded yet.", counts(entry));
            screen.hung("", "  ", &told) + &entry::flags(screen, entry)
        }
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

/// What a start set up.
pub(crate) fn begun(screen: &Screen, answer: &StartResponse) -> String {
    let Some(entry) = &answer.entry else {
        return String::new();
    };
    let what = screen.hung("  ", "  ", &format!("Set up: {}.", counts(entry)));
    entry::summed_up(screen, entry, &what)
}

/// The tags to write on the things that came in.
pub(crate) fn to_write(screen: &Screen, pieces: &[Piece]) -> String {
    format!(
        "{}\n{}\n{}",
        tint::strong("Write these tags on the things"),
        tags(screen, pieces),
        screen.hung("", "  ", "Or print labels: fettle labels --new")
    )
}

/// What comes after the beginning, in the last lines, which a terminal shows.
pub(crate) fn what_now(screen: &Screen, answer: &StartResponse) -> String {
    let seq = answer.entry.as_ref().map_or(0, |entry| entry.seq);
    let text =
        format!("'fettle' alone says what to do now; 'fettle undo {seq}' takes all of this back.");
    screen.hung("", "", &text)
}

/// What is in a starter kit, and where its figures are from.
pub(crate) fn kit(screen: &Screen, kit: &StarterKit) -> String {
    let heading = format!("{}: {}", kit.starter_kit, kit.name);
    let rows = kit.makes.iter().map(|one| {
        let name = one.make.as_ref().map_or("", |make| make.name.as_str());
        let held = match one.held_count {
            0 => String::new(),
            held => held.to_string(),
        };
        vec![
            name.to_owned(),
            one.usual_count.to_string(),
            held,
            bases(one),
        ]
    });
    let headings = [
        ("Make", Column::Name),
        ("Usual", Column::Right),
        ("Have", Column::Right),
        ("Where its figures are from", Column::Text),
    ];
    let routines = kit.routines.iter().map(|routine| {
        let steps = routine.steps.iter().map(|step| step.step.as_str());
        let steps = steps.collect::<Vec<_>>().join(", ");
        screen.hung("  ", "    ", &format!("{}: {steps}", routine.name))
    });
    format!(
        "{}\n{}\n\n{}\n\nRoutines\n{}",
        tint::strong(&heading),
        screen.hung("", "", &kit.text),
        table(screen, &headings, rows),
        routines.collect::<Vec<_>>().join("\n")
    )
}

/// Figures of a make by where they are from.
fn bases(one: &StarterMake) -> String {
    let mut groups: Vec<(String, Vec<String>)> = Vec::new();
    for basis in &one.bases {
        let from = word(basis.basis()).replace('-', " ");
        let figure = name(&basis.figure);
        match groups.iter_mut().find(|(known, _)| *known == from) {
            Some((_, figures)) => figures.push(figure),
            None => groups.push((from, vec![figure])),
        }
    }
    let told = groups
        .iter()
        .map(|(from, figures)| format!("{}: {from}", figures.join(", ")));
    told.collect::<Vec<_>>().join("; ")
}

/// What a figure is called, by its path in the contract.
fn name(figure: &str) -> String {
    let (sort, field) = figure.split_once('.').unwrap_or(("", figure));
    let mut rows = FIGURES.iter();
    let row = rows.find(|row| row.sort == sort && row.field == field);
    row.map_or(field, |row| {
        if row.label.is_empty() {
            row.option
        } else {
            row.label
        }
    })
    .to_lowercase()
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
