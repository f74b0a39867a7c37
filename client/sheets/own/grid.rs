//! A sheet's text as rows of cells, whichever mark stands between them.

/// Marks that stand between cells, from the surest on.
const MARKS: [char; 4] = ['\t', ';', '|', ','];
/// Rows that are looked at to find the mark.
const ROWS_LOOKED_AT: usize = 40;

/// A row that is not blank.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Line {
    /// Number of the row as a spreadsheet shows it, from 1.
    pub(super) row: i64,
    /// Cells without blanks around them.
    pub(super) cells: Vec<String>,
}

impl Line {
    /// A cell; empty where the row has none.
    pub(super) fn cell(&self, at: usize) -> &str {
        self.cells.get(at).map_or("", String::as_str)
    }

    /// Cells that are not empty.
    pub(super) fn filled(&self) -> impl Iterator<Item = &str> {
        self.cells
            .iter()
            .map(String::as_str)
            .filter(|cell| !cell.is_empty())
    }
}

/// The rows that are not blank.
pub(super) fn of(text: &str) -> Vec<Line> {
    let (said, text) = said_mark(text);
    let mark = said.unwrap_or_else(|| mark_of(text));
    let rows = parted(text, mark);
    let skipped = i64::from(said.is_some());
    let numbered = (1_i64..).zip(rows);
    let lines = numbered.map(|(row, cells)| Line {
        row: row.saturating_add(skipped),
        cells,
    });
    lines
        .filter(|line| line.filled().next().is_some())
        .collect()
}

/// The mark that a first line such as `sep=;` says, and the text after it.
fn said_mark(text: &str) -> (Option<char>, &str) {
    let (first, rest) = text.split_once('\n').unwrap_or((text, ""));
    let said = first
        .trim()
        .strip_prefix("sep=")
        .and_then(|mark| mark.chars().next());
    said.map_or((None, text), |mark| (Some(mark), rest))
}

/// The mark by which most rows have as many cells as each other.
fn mark_of(text: &str) -> char {
    let fit = |mark: &char| {
        let rows = parted(text, *mark);
        let widths: Vec<usize> = rows
            .iter()
            .filter(|row| row.iter().any(|cell| !cell.is_empty()))
            .take(ROWS_LOOKED_AT)
            .map(Vec::len)
            .collect();
        let alike = |width: usize| widths.iter().filter(|other| **other == width).count();
        let many = widths.iter().filter(|width| **width > 1);
        many.map(|width| alike(*width)).max().unwrap_or(0)
    };
    let best = MARKS.iter().map(|mark| (fit(mark), *mark));
    // Of marks that fit alike the surer one: the first.
    let best = best.rev().max_by_key(|(fit, _)| *fit);
    best.filter(|(fit, _)| *fit > 0)
        .map_or(',', |(_, mark)| mark)
}

/// Rows of cells. A cell in quotes may hold marks, line ends and doubled quotes.
fn parted(text: &str, mark: char) -> Vec<Vec<String>> {
    let mut rows = Vec::new();
    let (mut row, mut cell) = (Vec::new(), String::new());
    let mut quoted = false;
    let mut letters = text.chars().peekable();
    while let Some(letter) = letters.next() {
        match letter {
            '"' if quoted && letters.peek() == Some(&'"') => {
                letters.next();
                cell.push('"');
            }
            '"' if quoted => quoted = false,
            // An inch sign stands behind a number; a quote begins a cell.
            '"' if cell.trim().is_empty() => {
                cell.clear();
                quoted = true;
            }
            '\r' if !quoted && letters.peek() == Some(&'\n') => {}
            '\n' | '\r' if !quoted => {
                row.push(clean(&cell));
                cell.clear();
                rows.push(std::mem::take(&mut row));
            }
            letter if letter == mark && !quoted => {
                row.push(clean(&cell));
                cell.clear();
            }
            letter => cell.push(letter),
        }
    }
    if !cell.is_empty() || !row.is_empty() {
        row.push(clean(&cell));
        rows.push(row);
    }
    rows
}

/// A cell in one line, without the apostrophe that guards it from being taken for a formula.
fn clean(cell: &str) -> String {
    let words = cell.split_whitespace().collect::<Vec<_>>().join(" ");
    words
        .strip_prefix('\'')
        .map_or(words.clone(), str::to_owned)
}

#[cfg(test)]
mod tests {
    use super::{Line, of};

    fn cells(text: &str) -> Vec<Vec<String>> {
        of(text).into_iter().map(|line| line.cells).collect()
    }

    #[test]
    fn the_mark_is_the_one_that_fits() {
        assert_eq!(
            cells("what;price\npad;18,90\nwipe;7,20\n"),
            [["what", "price"], ["pad", "18,90"], ["wipe", "7,20"],]
        );
        assert_eq!(
            cells("what\tn\npad, coarse\t5\n"),
            [["what", "n"], ["pad, coarse", "5"]]
        );
        assert_eq!(cells("sep=|\nwhat|n\npad|5"), [["what", "n"], ["pad", "5"]]);
        assert_eq!(cells("pads\ntowels"), [["pads"], ["towels"]]);
    }

    #[test]
    fn quotes_inches_and_line_ends_within_cells_are_read() {
        let text = "what,size\r\n\"pad, \"\"blue\"\"\",5\"\r\n\"two\nlines\",6\"\r\n";
        assert_eq!(
            cells(text),
            [
                ["what", "size"],
                ["pad, \"blue\"", "5\""],
                ["two lines", "6\""]
            ]
        );
    }

    #[test]
    fn blank_rows_are_left_out_and_the_others_keep_their_numbers() {
        let rows: Vec<i64> = of("a;b\n\n;;\nc;d\n")
            .iter()
            .map(|Line { row, .. }| *row)
            .collect();
        assert_eq!(rows, [1, 4]);
    }
}
