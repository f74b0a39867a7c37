//! How worn pieces of the kit are, each by its own clock: a line a piece, or a line a make.
//!
//! It serves `wear`. What a clock has run and what it is rated to are the service's.

use std::cmp::Ordering;

use fettlebook_contract::v1::{MakeSort, PieceWear};

use crate::render::grid::Grid;
use crate::render::rests_on::grouped;
use crate::render::screen::{Screen, several};
use crate::render::table::Column;
use crate::render::wear::range_of_three;
use crate::render::{amount, gauge};

/// What is said where nothing has a clock.
pub(crate) const NOTHING: &str =
    "Nothing of that in the kit has a clock: pads, plates, machines, towels and batteries have.";

/// The wear of what has no rated life; what the figures rest on says so.
const NO_LIFE: &str = "–";

/// Pieces, those of a make together and the most worn first, and what their figures rest on.
pub(crate) fn list(screen: &Screen, pieces: &[PieceWear]) -> String {
    if pieces.is_empty() {
        return NOTHING.to_owned();
    }
    let pieces = by_make_and_wear(pieces);
    let grid = each(&pieces, |piece| worn(screen, piece));
    below(screen, grid.on(screen), pieces)
}

/// What is no pad, a line a make with its most worn piece; empty where there is nothing else.
pub(crate) fn by_make(screen: &Screen, pieces: &[PieceWear]) -> String {
    let makes = of_makes(pieces);
    if makes.is_empty() {
        return String::new();
    }
    let grid = each_make(&makes, |piece| worn(screen, piece));
    below(
        screen,
        grid.on(screen),
        makes.iter().map(|(piece, _)| *piece),
    )
}

/// Pieces, those of a make together and the most worn first.
pub(crate) fn by_make_and_wear(pieces: &[PieceWear]) -> Vec<&PieceWear> {
    let mut ordered: Vec<&PieceWear> = pieces.iter().collect();
    ordered.sort_by(|a, b| a.make.cmp(&b.make).then_with(|| most_worn_first(a, b)));
    ordered
}

/// Each piece by its own clock; how worn it is as `worn` tells it.
pub(crate) fn each(pieces: &[&PieceWear], worn: impl Fn(&PieceWear) -> String) -> Grid {
    let rows = pieces.iter().map(|piece| {
        vec![
            piece.tag.clone(),
            piece.make.clone(),
            clock(piece),
            worn(piece),
            range_of_three(piece.jobs_left.as_ref()),
        ]
    });
    let headings = [
        ("Tag", Column::Whole),
        ("Make", Column::Name),
        ("Its own clock", Column::Text),
        ("Wear", Column::Whole),
        ("Jobs left", Column::Right),
    ];
    Grid::of(&headings, rows.collect())
}

/// The makes of what is no pad, each with its most worn piece and how many there are.
pub(crate) fn of_makes(pieces: &[PieceWear]) -> Vec<(&PieceWear, usize)> {
    let mut others: Vec<&PieceWear> = pieces
        .iter()
        .filter(|piece| piece.sort() != MakeSort::Pad)
        .collect();
    others.sort_by(|a, b| {
        let makes = (a.sort, &a.make).cmp(&(b.sort, &b.make));
        makes.then_with(|| most_worn_first(a, b))
    });
    let makes = others.chunk_by(|a, b| a.make == b.make);
    makes
        .filter_map(|of_make| Some((*of_make.first()?, of_make.len())))
        .collect()
}

/// Each make by its most worn piece; how worn that is as `worn` tells it.
pub(crate) fn each_make(
    makes: &[(&PieceWear, usize)],
    worn: impl Fn(&PieceWear) -> String,
) -> Grid {
    let rows = makes.iter().map(|(piece, count)| {
        vec![
            match count {
                1 => piece.make.clone(),
                count => format!("{} ({count})", piece.make),
            },
            piece.tag.clone(),
            clock(piece),
            worn(piece),
            range_of_three(piece.jobs_left.as_ref()),
        ]
    });
    let headings = [
        ("Other kit", Column::Name),
        ("Most worn", Column::Whole),
        ("Its own clock", Column::Text),
        ("Wear", Column::Whole),
        ("Jobs left", Column::Right),
    ];
    Grid::of(&headings, rows.collect())
}

fn most_worn_first(a: &PieceWear, b: &PieceWear) -> Ordering {
    let worn = |piece: &PieceWear| piece.damage.unwrap_or(0.0);
    let hours = |piece: &PieceWear| piece.run_time_s.unwrap_or(0);
    worn(b)
        .total_cmp(&worn(a))
        .then_with(|| hours(b).cmp(&hours(a)))
}

/// The table, and below it what its figures rest on.
fn below<'a>(
    screen: &Screen,
    mut text: String,
    pieces: impl IntoIterator<Item = &'a PieceWear>,
) -> String {
    let said = foundations(pieces);
    if !said.is_empty() {
        text.push('\n');
    }
    for told in said {
        text.push('\n');
        text.push_str(&screen.hung("", "  ", &told));
    }
    text
}

/// Each sentence of what the figures rest on, once, with the makes that it is of.
pub(crate) fn foundations<'a>(pieces: impl IntoIterator<Item = &'a PieceWear>) -> Vec<String> {
    let of_makes = pieces.into_iter();
    grouped(of_makes.map(|piece| (piece.make.as_str(), piece.rests_on.as_str())))
}

/// What its clocks have run, and what they are rated to.
fn clock(piece: &PieceWear) -> String {
    let counted = |count: Option<i64>, rated: Option<i64>, one: &str, many: &str| {
        count.map(|count| match rated {
            Some(rated) => format!("{count} of {rated} {many}"),
            None => several(count, one, many),
        })
    };
    let work = piece
        .work_micro_sections
        .map(|work| match piece.rated_work_micro_sections {
            Some(rated) => format!(
                "{} of {} sections",
                amount::sections(work),
                amount::sections(rated)
            ),
            None => format!("{} sections", amount::sections(work)),
        });
    let run = piece.run_time_s.map(|run| match piece.rated_run_time_s {
        Some(rated) => format!("{} of {}", hours(run), hours(rated)),
        None => format!("{} run", hours(run)),
    });
    let washes = counted(piece.wash_count, piece.rated_wash_count, "wash", "washes");
    let changes = counted(
        piece.change_count,
        piece.rated_change_count,
        "pad change",
        "pad changes",
    );
    let charges = counted(
        piece.charge_count,
        piece.rated_charge_count,
        "charge",
        "charges",
    );
    let told = [work, run, washes, changes, charges, charge(piece)];
    told.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// How long a charge of a battery lasts, against that of a new one.
fn charge(piece: &PieceWear) -> Option<String> {
    let minutes = |seconds: i64| seconds.saturating_add(30).div_euclid(60);
    let (run, new) = piece.charge_run_time_s.zip(piece.new_charge_run_time_s)?;
    Some(format!("{} of {} min a charge", minutes(run), minutes(new)))
}

/// Running time in hours, to a tenth: a rating is said so, however many days that is.
fn hours(seconds: i64) -> String {
    let tenths = seconds.saturating_add(180).div_euclid(360);
    format!("{} h", amount::decimal(tenths, 1))
}

/// How worn a piece is, as a figure alone.
pub(crate) fn part_used(piece: &PieceWear) -> String {
    let told = piece.damage.map(gauge::percent);
    told.unwrap_or_else(|| NO_LIFE.to_owned())
}

fn worn(screen: &Screen, piece: &PieceWear) -> String {
    piece
        .damage
        .map_or_else(|| NO_LIFE.to_owned(), |damage| gauge::bar(screen, damage))
}
