//! Headings and rows of a table before they are laid out, on a screen or on paper.

use crate::render::screen::Screen;
use crate::render::table::{Column, table};

/// A table that is not laid out yet.
pub(crate) struct Grid {
    /// What stands above each column, and how the column behaves.
    pub(crate) headings: Vec<(String, Column)>,
    /// The cells, row by row.
    pub(crate) rows: Vec<Vec<String>>,
}

impl Grid {
    /// A table with these headings.
    pub(crate) fn of(headings: &[(&str, Column)], rows: Vec<Vec<String>>) -> Self {
        let headings = headings.iter();
        Self {
            headings: headings
                .map(|(name, column)| ((*name).to_owned(), *column))
                .collect(),
            rows,
        }
    }

    /// The table on a screen.
    pub(crate) fn on(self, screen: &Screen) -> String {
        let headings: Vec<(&str, Column)> = self
            .headings
            .iter()
            .map(|(name, column)| (name.as_str(), *column))
            .collect();
        table(screen, &headings, self.rows)
    }
}
