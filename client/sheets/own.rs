//! A sheet as a person keeps it: one row a thing, in any order of columns, with headings and words of one's
//! own.
//!
//! It serves `start --sheet`. Each row is understood by itself, and told as it was understood; what is
//! unclear is named by row and cell, all of it at once, and then nothing is taken over. Tags are the book's to
//! give. What a thing can be is the service's to say.

use std::collections::BTreeMap;

use fettlebook_contract::v1::{Make, StartPiece, StartPrice};

use crate::fault::Problem;

pub(crate) mod empty;
mod grid;
mod headings;
mod row;
mod text;
mod things;
mod words;

pub(crate) use headings::Column;

/// What is known beside the sheet.
#[derive(Clone, Debug, Default)]
pub(crate) struct Beside {
    /// Makes by their ids: of the book, and of the starter kit that is set up with it.
    pub(crate) makes: BTreeMap<String, Make>,
    /// Currency of prices that name none.
    pub(crate) currency: Option<String>,
}

/// A row as it was understood.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Understood {
    /// Row of the sheet.
    pub(crate) row: i64,
    /// The make, where it is a new one.
    pub(crate) make: Option<Make>,
    /// Name of the make.
    pub(crate) name: String,
    /// Its price as sold.
    pub(crate) price: Option<StartPrice>,
    /// The pieces, alike in each.
    pub(crate) pieces: Vec<StartPiece>,
    /// What was taken to be so because the row does not say it.
    pub(crate) taken: Vec<String>,
}

/// A sheet as it was read.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Sheet {
    /// Rows, in order.
    pub(crate) rows: Vec<Understood>,
    /// Rows that say nothing of a thing, each with why.
    pub(crate) passed_over: Vec<(i64, String)>,
    /// Everything that is wrong.
    pub(crate) problems: Vec<Problem>,
    /// Headings as they stand in the sheet, by what they mean.
    pub(crate) headings: Vec<(Column, String)>,
}

/// Reads the bytes of a sheet that is called `file` where something is wrong with it.
pub(crate) fn read(file: &str, bytes: &[u8], beside: &Beside) -> Sheet {
    let text = text::decoded(bytes);
    let grid = grid::of(&text);
    let mut sheet = Sheet::default();
    let Some(heads) = headings::find(&grid) else {
        sheet.problems.push(Problem {
            file: file.to_owned(),
            line: 1,
            column: String::new(),
            text: "It is not clear which column says what the things are.".to_owned(),
            todo: "Begin with a row of headings, such as: what, how many, size, how full, price. 'fettle \
                   sheet --csv' gives an empty one."
                .to_owned(),
        });
        return sheet;
    };
    sheet.headings = heads.named();
    let mut reader = row::Reader::new(file, &heads, beside);
    for line in grid.iter().filter(|line| line.row > heads.row) {
        reader.read(line, &mut sheet);
    }
    if sheet.rows.is_empty() && sheet.problems.is_empty() {
        sheet.problems.push(Problem {
            file: file.to_owned(),
            line: heads.row.max(1),
            column: String::new(),
            text: "There is no thing below the headings.".to_owned(),
            todo: "Write a row for each thing, such as: coarse foam pad, 5, 150 mm.".to_owned(),
        });
    }
    sheet
}

#[cfg(test)]
mod tests;
