//! What the columns of a sheet without headings mean.

use super::{Column, Head, Heads};
use crate::sheets::own::grid::Line;

/// Columns of a sheet without headings, by what most of their cells are.
pub(super) fn heads(grid: &[Line]) -> Option<Heads> {
    let width = grid.iter().map(|line| line.cells.len()).max()?;
    let mut columns: Vec<Head> = Vec::new();
    for at in 0..width {
        let cells: Vec<&str> = grid
            .iter()
            .map(|line| line.cell(at))
            .filter(|cell| !cell.is_empty())
            .collect();
        let most = |is: &dyn Fn(&str) -> bool| {
            let count = cells.iter().filter(|cell| is(cell)).count();
            count * 2 > cells.len()
        };
        let known = |column| columns.iter().any(|head: &Head| head.column == column);
        let column = if most(&is_price) && !known(Column::Price) {
            Column::Price
        } else if most(&is_count) && !known(Column::Count) {
            Column::Count
        } else if most(&is_size) && !known(Column::Size) {
            Column::Size
        } else if most(&is_words) && !known(Column::What) {
            Column::What
        } else if most(&is_words) {
            Column::Note
        } else {
            continue;
        };
        columns.push(Head {
            at,
            column,
            heading: String::new(),
            unit: String::new(),
        });
    }
    let has_what = columns.iter().any(|head| head.column == Column::What);
    has_what.then_some(Heads { row: 0, columns })
}

fn is_price(cell: &str) -> bool {
    let is_decimal = cell
        .rsplit_once(['.', ','])
        .is_some_and(|(_, part)| part.len() == 2);
    cell.contains(['€', '£', '$']) || (is_decimal && !is_words(cell))
}

fn is_count(cell: &str) -> bool {
    let bare = cell.trim_matches(['x', 'X', '×', ' ']);
    !bare.is_empty() && bare.len() <= 3 && bare.bytes().all(|byte| byte.is_ascii_digit())
}

fn is_size(cell: &str) -> bool {
    let lower = cell.to_lowercase();
    let starts = lower.starts_with(|letter: char| letter.is_ascii_digit());
    starts
        && ["mm", "cm", "in", "\"", "ml", " l", "gsm"]
            .iter()
            .any(|unit| lower.ends_with(unit))
}

fn is_words(cell: &str) -> bool {
    cell.chars().filter(|letter| letter.is_alphabetic()).count() >= 3
}
