//! An empty sheet, to fill in on a computer or to print and write on.

use super::Column;
use crate::columns::Cell;

/// Columns of an empty sheet, each with what may stand in it.
const COLUMNS: [(Column, &str); 10] = [
    (Column::What, "coarse foam pad"),
    (Column::Count, "5"),
    (Column::Size, "150 mm"),
    (Column::Left, "new, 3/4, 431 g"),
    (Column::Jobs, "8"),
    (Column::Price, "18.90"),
    (Column::Pack, "2"),
    (Column::From, "Tern Quay Supplies"),
    (Column::Where, "bench"),
    (Column::Note, ""),
];
/// Rows on a printed page.
const ROWS: usize = 24;

/// The headings.
pub(crate) fn headings() -> Vec<Cell> {
    let headings = COLUMNS.iter().map(|(column, _)| column.heading());
    headings.map(Cell::from).collect()
}

/// A page to print, with a row of examples and rows to write on.
pub(crate) fn html() -> String {
    let headings = COLUMNS
        .iter()
        .map(|(column, _)| format!("<th>{}</th>", column.heading()));
    let examples = COLUMNS
        .iter()
        .map(|(_, example)| format!("<td>{example}</td>"));
    let blank = format!("<tr>{}</tr>\n", "<td></td>".repeat(COLUMNS.len()));
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<meta charset=\"utf-8\">\n<title>Kit sheet</title>\n\
         <style>\n@page {{ size: A4 landscape; margin: 12mm }}\nbody {{ font: 11pt sans-serif }}\n\
         table {{ border-collapse: collapse; width: 100% }}\n\
         th, td {{ border: 1px solid #555; padding: 2mm; text-align: left; height: 5mm }}\n\
         tr.example td {{ color: #555; font-style: italic }}\n</style>\n\
         <h1>Kit sheet</h1>\n<p>One row a thing. The grey row shows how; leave out what you do not know. The \
         book gives the tags.</p>\n<table>\n<tr>{}</tr>\n<tr class=\"example\">{}</tr>\n{}</table>\n",
        headings.collect::<String>(),
        examples.collect::<String>(),
        blank.repeat(ROWS)
    )
}

#[cfg(test)]
mod tests {
    use super::super::{Beside, read};
    use super::{headings, html};
    use crate::columns::Decimals;
    use crate::render::csv::begun;

    /// What is filled in under the headings of an empty sheet is understood.
    #[test]
    fn the_headings_of_an_empty_sheet_are_understood() {
        let written = |decimals| begun(&[headings()], decimals).unwrap();
        for filled in [
            written(Decimals::Point)
                + "coarse foam pad,5,150 mm,,8,18.90,2,Tern Quay Supplies,bench,\n",
            written(Decimals::Comma)
                + "coarse foam pad;5;150 mm;;8;18,90;2;Tern Quay Supplies;bench;\n",
        ] {
            understood(&filled);
        }
        assert!(html().contains("<th>how many</th>"));
    }

    fn understood(filled: &str) {
        let beside = Beside {
            currency: Some("EUR".to_owned()),
            ..Beside::default()
        };
        let sheet = read("kit.csv", filled.as_bytes(), &beside);
        assert_eq!(sheet.problems, []);
        let [row] = sheet.rows.as_slice() else {
            panic!("{sheet:?}")
        };
        assert_eq!(row.name, "coarse foam pad 150 mm");
        assert_eq!(
            (row.pieces[0].piece_count, row.pieces[0].job_count),
            (5, Some(8))
        );
        let price = row.price.as_ref().unwrap();
        assert_eq!(price.pack_count, Some(2));
        assert_eq!(price.price.as_ref().unwrap().amount, "18.90");
    }
}
