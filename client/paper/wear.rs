//! How worn the kit is, on paper, for the wall of the workshop: what 'fettle wear' shows, in any of its forms.
//!
//! What is a bar on a screen is a figure here: bars do not print alike everywhere.

use fettlebook_contract::v1::{GetKitBudgetResponse, MakeWear, PadLeft, PieceWear};
use minijinja::{Value, context};

use super::{Ground, cleaned};
use crate::fault::Fault;
use crate::render::grid::Grid;
use crate::render::table::Column;
use crate::render::tint::clean;
use crate::render::{budget, clocks, gauge, wear};
use crate::word::word;

const TEMPLATE: (&str, &str) = ("wear.html", include_str!("wear.html"));

/// The whole kit: pads by make, other kit by make, and what all of it costs to keep.
///
/// # Errors
/// When the sheet cannot be laid out.
pub(crate) fn at_a_glance(
    ground: &Ground<'_>,
    makes: &[MakeWear],
    pieces: &[PieceWear],
    ahead: &GetKitBudgetResponse,
) -> Result<String, Fault> {
    let others = clocks::of_makes(pieces);
    let mut parts = Vec::new();
    if !makes.is_empty() {
        let mut under = wear::foundations(makes);
        under.push(wear::HOW_TO_READ.to_owned());
        parts.push(Part {
            head: "Pads",
            grid: Some(wear::makes(makes)),
            under,
            ..Part::default()
        });
    }
    if !others.is_empty() {
        parts.push(Part {
            head: "Other kit",
            grid: Some(clocks::each_make(&others, clocks::part_used)),
            under: clocks::foundations(others.iter().map(|(piece, _)| *piece)),
            ..Part::default()
        });
    }
    if parts.is_empty() {
        parts.push(Part::sentence(clocks::NOTHING));
    } else {
        parts.push(whole_kit(ahead));
    }
    sheet(ground, "How worn the kit is", parts)
}

/// Each piece by its own clock, with a box to tick when it was looked at; of one make where that was asked for.
///
/// # Errors
/// When the sheet cannot be laid out.
pub(crate) fn each_piece(
    ground: &Ground<'_>,
    make: &str,
    pieces: &[PieceWear],
) -> Result<String, Fault> {
    let pieces = clocks::by_make_and_wear(pieces);
    let part = if pieces.is_empty() {
        Part::sentence(clocks::NOTHING)
    } else {
        Part {
            grid: Some(clocks::each(&pieces, clocks::part_used)),
            ticked: true,
            under: clocks::foundations(pieces),
            ..Part::default()
        }
    };
    let title = if make.is_empty() {
        "How worn each piece is".to_owned()
    } else {
        format!("How worn each piece is: {make}")
    };
    sheet(ground, &title, vec![part])
}

/// What will have to be replaced, by make and in all.
///
/// # Errors
/// When the sheet cannot be laid out.
pub(crate) fn ahead(ground: &Ground<'_>, ahead: &GetKitBudgetResponse) -> Result<String, Fault> {
    let by_make = match budget::by_make(ahead) {
        Some(grid) => Part {
            head: "By make",
            grid: Some(grid),
            ..Part::default()
        },
        None => Part::sentence(budget::NOTHING),
    };
    let parts = vec![by_make, whole_kit(ahead)];
    sheet(ground, "What will have to be replaced", parts)
}

/// What pads of one make really last here, and those in service. The curve is a picture of its own, `--svg`.
///
/// # Errors
/// When the sheet cannot be laid out.
pub(crate) fn of_pads(ground: &Ground<'_>, make: &MakeWear) -> Result<String, Fault> {
    let title = format!("{} ({})", make.make_name, make.make);
    let mut before = vec![make.summary.clone()];
    if make.curve.is_empty() {
        before.push(wear::NOTHING_SEEN.to_owned());
    }
    before.retain(|said| !said.is_empty());
    let facts = wear::facts(make)
        .into_iter()
        .chain(wear::worked_out_from(make));
    let counts = Part {
        before,
        facts: facts.filter(|(_, text)| !text.is_empty()).collect(),
        ..Part::default()
    };
    let worn = |pad: &PadLeft| format!("{} {}", gauge::percent(pad.damage), word(pad.band()));
    let pads = match wear::in_service(&make.pads, worn) {
        Some((grid, rests_on)) => Part {
            head: "In service",
            grid: Some(grid),
            ticked: true,
            under: vec![rests_on.to_owned()],
            ..Part::default()
        },
        None => Part::sentence(wear::NONE_IN_SERVICE),
    };
    let mut parts = vec![counts, pads];
    if !make.caveats.is_empty() {
        parts.push(Part {
            head: "To keep in mind",
            before: make.caveats.clone(),
            ..Part::default()
        });
    }
    sheet(ground, &title, parts)
}

/// A part of the sheet: a heading, what is said before and below a table, and facts by name.
#[derive(Default)]
struct Part {
    head: &'static str,
    before: Vec<String>,
    facts: Vec<(&'static str, String)>,
    grid: Option<Grid>,
    /// Whether each row has a box.
    ticked: bool,
    under: Vec<String>,
}

impl Part {
    /// A part that says one thing.
    fn sentence(said: &str) -> Self {
        Self {
            before: vec![said.to_owned()],
            ..Self::default()
        }
    }

    fn told(self) -> Value {
        let facts = self.facts.iter();
        let facts = facts.map(|(name, text)| context! { name => name.trim(), text => clean(text) });
        let grid = self.grid.unwrap_or_else(|| Grid::of(&[], Vec::new()));
        let columns: Vec<Column> = grid.headings.iter().map(|(_, column)| *column).collect();
        let headings = grid.headings.iter();
        let headings = headings
            .map(|(name, column)| context! { name => clean(name), class => class(*column) });
        let rows = grid.rows.iter().map(|row| {
            let cells = row.iter().zip(&columns);
            cells
                .map(|(text, column)| context! { text => clean(text), class => class(*column) })
                .collect::<Value>()
        });
        context! {
            head => self.head,
            before => cleaned(&self.before),
            facts => facts.collect::<Value>(),
            ticked => self.ticked,
            headings => headings.collect::<Value>(),
            rows => rows.collect::<Value>(),
            under => cleaned(&self.under),
        }
    }
}

/// What the budget of the whole kit comes to.
fn whole_kit(ahead: &GetKitBudgetResponse) -> Part {
    let said = budget::foundations(ahead).filter(|said| !said.is_empty());
    Part {
        head: "The whole kit ahead",
        grid: Some(budget::whole_kit(ahead)),
        under: said.map(str::to_owned).collect(),
        ..Part::default()
    }
}

/// How a column stands on paper: figures to the right, labels in one piece.
const fn class(column: Column) -> &'static str {
    match column {
        Column::Right => "sum",
        Column::Whole => "word",
        Column::Name | Column::Text => "",
    }
}

fn sheet(ground: &Ground<'_>, title: &str, parts: Vec<Part>) -> Result<String, Fault> {
    let ticked = parts.iter().any(|part| part.ticked);
    let parts = parts.into_iter().map(Part::told);
    let told = context! { ticked, parts => parts.collect::<Value>() };
    ground.sheet(TEMPLATE, title, told)
}

#[cfg(test)]
mod tests;
