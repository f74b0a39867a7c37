//! Plain tables without rules: columns two blanks apart, wrapped to the page.
//!
//! They serve every list. Columns that must not be broken, such as tags and gauges, say so, and no word is
//! broken: where a page is too narrow for that each row is a card of label and value.

use comfy_table::{
    Cell, CellAlignment, ColumnConstraint, ContentArrangement, Table, TableStyle, Width,
};

use textwrap::core::display_width;

use crate::render::screen::{NO_BREAK, Screen, joined};
use crate::render::tint;

/// Blanks between columns.
const GAP: u16 = 2;
/// Columns that a name keeps before it is wrapped.
const NAME_WIDTH_KEPT: u16 = 22;
/// Columns of a page below which a table that has to be wrapped becomes cards.
pub(crate) const CARDS_BELOW: usize = 60;

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
    let rows: Vec<Vec<String>> = rows.into_iter().map(kept_together).collect();
    let mut widths = Widths::of(headings);
    rows.iter().for_each(|row| widths.take(row));
    if widths.want_cards(screen, headings) {
        return cards(screen, headings, &rows);
    }
    let table = filled(screen, Some(headings), rows);
    arranged(screen, table, headings, &widths)
}

/// The cells with each figure and its unit as one word, as in running text.
fn kept_together(row: Vec<String>) -> Vec<String> {
    row.into_iter().map(|cell| joined(&cell)).collect()
}

/// How wide the columns of a table are: unwrapped, and their longest words.
struct Widths {
    whole: Vec<usize>,
    word: Vec<usize>,
}

impl Widths {
    fn of(headings: &[(&str, Column)]) -> Self {
        let names: Vec<usize> = headings
            .iter()
            .map(|(name, _)| display_width(name))
            .collect();
        Self {
            whole: names.clone(),
            word: names,
        }
    }

    fn take(&mut self, row: &[String]) {
        for (at, cell) in row.iter().enumerate() {
            let lines = cell.lines().map(display_width).max().unwrap_or(0);
            let word = cell.split([' ', '\n']).map(display_width).max();
            for (widths, width) in [
                (&mut self.whole, lines),
                (&mut self.word, word.unwrap_or(0)),
            ] {
                if let Some(widest) = widths.get_mut(at) {
                    *widest = width.max(*widest);
                }
            }
        }
    }

    /// The narrowest that a column can be.
    fn least(&self, at: usize, kind: Column) -> usize {
        let widths = match kind {
            Column::Text | Column::Name => &self.word,
            Column::Whole | Column::Right => &self.whole,
        };
        widths.get(at).copied().unwrap_or(0)
    }

    /// What all columns take at the least.
    fn least_sum(&self, headings: &[(&str, Column)]) -> usize {
        let kinds = headings.iter().enumerate();
        let sum: usize = kinds.map(|(at, (_, kind))| self.least(at, *kind)).sum();
        sum.saturating_add(gaps(headings))
    }

    /// Whether words or a narrow page make cards of the rows.
    fn want_cards(&self, screen: &Screen, headings: &[(&str, Column)]) -> bool {
        let whole: usize = self.whole.iter().sum();
        let is_wrapped = whole.saturating_add(gaps(headings)) > screen.width;
        let is_narrow = screen.width < CARDS_BELOW && headings.len() > 2;
        (is_narrow && is_wrapped) || self.least_sum(headings) > screen.width
    }
}

/// Blanks between all columns.
fn gaps(headings: &[(&str, Column)]) -> usize {
    usize::from(GAP).saturating_mul(headings.len().saturating_sub(1))
}

/// Each row as its first cell, and below it the other cells behind their headings.
fn cards(screen: &Screen, headings: &[(&str, Column)], rows: &[Vec<String>]) -> String {
    let cards = rows.iter().filter_map(|row| card(screen, headings, row));
    cards.collect::<Vec<_>>().join("\n")
}

fn card(screen: &Screen, headings: &[(&str, Column)], row: &[String]) -> Option<String> {
    let mut cells = headings.iter().zip(row);
    let ((name, kind), title) = cells.next()?;
    let told: Vec<(&str, &String)> = cells
        .filter(|(_, cell)| !cell.is_empty())
        .map(|((name, _), cell)| (*name, cell))
        .collect();
    let title = match kind {
        Column::Right if !title.is_empty() => format!("{name} {title}"),
        _ => title.clone(),
    };
    if title.is_empty() && told.is_empty() {
        return None;
    }
    let widest = told.iter().map(|(name, _)| name.len()).max().unwrap_or(0);
    let mut lines = vec![screen.hung("", "  ", &tint::strong(&title))];
    for (name, cell) in told {
        let first = format!("  {name:<widest$}  ");
        lines.push(screen.hung(&first, &" ".repeat(first.len()), cell));
    }
    lines.retain(|line| !line.is_empty());
    Some(trimmed(
        lines
            .iter()
            .flat_map(|text| text.lines().map(str::to_owned)),
    ))
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
fn arranged(
    screen: &Screen,
    mut table: Table,
    headings: &[(&str, Column)],
    widths: &Widths,
) -> String {
    let last = headings.len().saturating_sub(1);
    let spare = screen.width.saturating_sub(widths.least_sum(headings));
    for (index, (_, kind)) in headings.iter().enumerate() {
        if let Some(column) = table.column_mut(index) {
            let gap = if index == last { 0 } else { GAP };
            let wide = |width: usize| u16::try_from(width).unwrap_or(u16::MAX).saturating_add(gap);
            let content = widths.whole.get(index).copied().unwrap_or(0);
            let least = widths.least(index, *kind);
            let whole = ColumnConstraint::Absolute(Width::Fixed(wide(content)));
            column.set_padding((0, gap));
            match kind {
                Column::Text => {
                    let kept = Width::Fixed(wide(least));
                    column.set_constraint(ColumnConstraint::LowerBoundary(kept));
                }
                Column::Name => {
                    let named = content.min(usize::from(NAME_WIDTH_KEPT));
                    let named = if named.saturating_sub(least) <= spare {
                        named
                    } else {
                        least
                    };
                    let kept = Width::Fixed(wide(named.max(least)));
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
            self.text.push_str(&joined(cell));
            self.ends.push(self.text.len());
        }
    }

    /// The rows of so many cells each, without the one at a place.
    pub(crate) fn without(&self, at: usize, cell_count: usize) -> Self {
        let mut less = Self::default();
        for part in self.parts(cell_count) {
            for mut row in part {
                if at < row.len() {
                    row.remove(at);
                }
                less.push(&row);
            }
        }
        less
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
    let mut widths = Widths::of(headings);
    for part in rows.parts(headings.len()) {
        part.iter().for_each(|row| widths.take(row));
    }
    let as_cards = widths.want_cards(&screen, headings);
    let parts = rows.parts(headings.len()).enumerate();
    parts.map(move |(index, rows)| {
        if as_cards {
            return cards(&screen, headings, &rows);
        }
        let heads = (index == 0).then_some(headings);
        arranged(&screen, filled(&screen, heads, rows), headings, &widths)
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
        .map(|line| line.trim_end().replace(NO_BREAK, " "))
        .collect::<Vec<_>>()
        .join("\n")
}
