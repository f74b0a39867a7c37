//! Plain tables without rules: columns two blanks apart, wrapped to the page.
//!
//! They serve every list. Columns that must not be broken, such as tags and gauges, say so.

use comfy_table::{
    Cell, CellAlignment, ColumnConstraint, ContentArrangement, Table, TableStyle, Width,
};

use crate::render::screen::Screen;
use crate::render::tint;

/// Blanks between columns.
const GAP: u16 = 2;
/// Columns that a name keeps before it is wrapped.
const NAME_WIDTH_KEPT: u16 = 22;

/// How a column behaves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Column {
    /// Text that may be wrapped.
    Text,
    /// A name, wrapped only where it is long.
    Name,
    /// Something that keeps to one line.
    Whole,
    /// A number or quantity: to the right, on one line.
    Right,
}

/// Lays out rows under their headings.
pub(crate) fn table(
    screen: &Screen,
    headings: &[(&str, Column)],
    rows: impl IntoIterator<Item = Vec<String>>,
) -> String {
    let table = filled(screen, Some(headings), rows);
    let widths = table.column_max_content_widths();
    arranged(table, headings, &widths)
}

/// A table of rows, under headings or under those of the part before.
fn filled(
    screen: &Screen,
    headings: Option<&[(&str, Column)]>,
    rows: impl IntoIterator<Item = Vec<String>>,
) -> Table {
    let mut table = Table::new();
    table
        .load_style(TableStyle::new())
        .set_content_arrangement(ContentArrangement::Dynamic)
        .set_width(u16::try_from(screen.width).unwrap_or(u16::MAX));
    if let Some(headings) = headings {
        let names = headings.iter().map(|(name, _)| tint::strong(name));
        table.set_header(names.map(Cell::new));
    }
    for row in rows {
        table.add_row(row);
    }
    table
}

/// The text of a table whose columns are so wide where they are not wrapped.
fn arranged(mut table: Table, headings: &[(&str, Column)], widths: &[u16]) -> String {
    let last = headings.len().saturating_sub(1);
    for (index, (_, kind)) in headings.iter().enumerate() {
        if let Some(column) = table.column_mut(index) {
            let gap = if index == last { 0 } else { GAP };
            let content = widths.get(index).copied().unwrap_or(0);
            let whole = ColumnConstraint::Absolute(Width::Fixed(content.saturating_add(gap)));
            column.set_padding((0, gap));
            match kind {
                Column::Text => {}
                Column::Name => {
                    let kept = Width::Fixed(content.min(NAME_WIDTH_KEPT) + GAP);
                    column.set_constraint(ColumnConstraint::LowerBoundary(kept));
                }
                Column::Whole => {
                    column.set_constraint(whole);
                }
                Column::Right => {
                    column.set_constraint(whole);
                    column.set_cell_alignment(CellAlignment::Right);
                }
            }
        }
    }
    trimmed(table.lines())
}

/// Rows laid out at once; their text is in memory before it is printed.
const PART_ROWS: usize = 1_000;

/// Very many rows, packed: a string of its own for each cell takes several times the room.
#[derive(Debug, Default)]
pub(crate) struct Rows {
    text: String,
    /// Where each cell ends in it.
    ends: Vec<usize>,
}

impl Rows {
    /// Adds a row.
    pub(crate) fn push(&mut self, cells: &[String]) {
        for cell in cells {
            self.text.push_str(cell);
            self.ends.push(self.text.len());
        }
    }

    /// Whether there are none.
    pub(crate) const fn is_empty(&self) -> bool {
        self.ends.is_empty()
    }

    /// The rows of so many cells, a part of them at a time.
    fn parts(&self, cell_count: usize) -> impl Iterator<Item = Vec<Vec<String>>> {
        let mut start = 0;
        let parts = self.ends.chunks(cell_count.max(1) * PART_ROWS);
        parts.map(move |part| {
            let mut cells = part.iter().map(|end| {
                let cell = self.text.get(start..*end).unwrap_or_default();
                start = *end;
                cell.to_owned()
            });
            let mut rows = Vec::with_capacity(PART_ROWS);
            loop {
                let row: Vec<_> = cells.by_ref().take(cell_count).collect();
                if row.is_empty() {
                    return rows;
                }
                rows.push(row);
            }
        })
    }
}

/// Lays out rows as [`table`] does, a part at a time, each to be printed below the one before. Every
/// column but the last keeps to one line, so that its width does not depend on how others are wrapped.
pub(crate) fn parts<'a>(
    screen: &Screen,
    headings: &'a [(&str, Column)],
    rows: &'a Rows,
) -> impl Iterator<Item = String> + 'a {
    let screen = screen.clone();
    let mut widths = vec![0; headings.len()];
    for part in rows.parts(headings.len()) {
        let part = filled(&screen, Some(headings), part);
        for (widest, width) in widths.iter_mut().zip(part.column_max_content_widths()) {
            *widest = width.max(*widest);
        }
    }
    let parts = rows.parts(headings.len()).enumerate();
    parts.map(move |(index, rows)| {
        let heads = (index == 0).then_some(headings);
        arranged(filled(&screen, heads, rows), headings, &widths)
    })
}

/// Names on the left, what they are on the right; rows without a value are left out.
pub(crate) fn sheet(
    screen: &Screen,
    rows: impl IntoIterator<Item = (&'static str, String)>,
) -> String {
    let rows: Vec<_> = rows
        .into_iter()
        .filter(|(_, value)| !value.is_empty())
        .collect();
    let widest = rows.iter().map(|(name, _)| name.len()).max().unwrap_or(0);
    let lines = rows.iter().flat_map(|(name, value)| {
        let rest = " ".repeat(widest + 2);
        let first = format!("{name:<width$}", width = widest + 2);
        screen
            .hung(&first, &rest, value)
            .lines()
            .map(str::to_owned)
            .collect::<Vec<_>>()
    });
    trimmed(lines)
}

fn trimmed(lines: impl Iterator<Item = String>) -> String {
    lines
        .map(|line| line.trim_end().to_owned())
        .collect::<Vec<_>>()
        .join("\n")
}
