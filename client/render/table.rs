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
    let mut table = Table::new();
    table
        .load_style(TableStyle::new())
        .set_content_arrangement(ContentArrangement::Dynamic)
        .set_width(u16::try_from(screen.width).unwrap_or(u16::MAX))
        .set_header(
            headings
                .iter()
                .map(|(name, _)| Cell::new(tint::strong(name))),
        );
    for row in rows {
        table.add_row(row);
    }
    let widths = table.column_max_content_widths();
    let last = headings.len().saturating_sub(1);
    for (index, (_, kind)) in headings.iter().enumerate() {
        if let Some(column) = table.column_mut(index) {
            column.set_padding((0, if index == last { 0 } else { GAP }));
            match kind {
                Column::Text => {}
                Column::Name => {
                    let content = widths.get(index).copied().unwrap_or(0);
                    let kept = Width::Fixed(content.min(NAME_WIDTH_KEPT) + GAP);
                    column.set_constraint(ColumnConstraint::LowerBoundary(kept));
                }
                Column::Whole => {
                    column.set_constraint(ColumnConstraint::ContentWidth);
                }
                Column::Right => {
                    column.set_constraint(ColumnConstraint::ContentWidth);
                    column.set_cell_alignment(CellAlignment::Right);
                }
            }
        }
    }
    trimmed(table.lines())
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
