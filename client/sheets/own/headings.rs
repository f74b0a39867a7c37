//! What the columns of a sheet mean: by their headings, in whichever words, or else by what stands in them.

use super::grid::Line;
use super::words::plain;

mod by_content;
mod synonyms;

use synonyms::SYNONYMS;

/// What a column says of a thing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Column {
    /// What it is.
    What,
    /// Words that belong to what it is: its sort, grade, material.
    Kind,
    /// How many there are.
    Count,
    /// How large it is, or what a new one holds.
    Size,
    /// How full it is.
    Left,
    /// What it weighs on the scale.
    Weight,
    /// Jobs it has done.
    Jobs,
    /// Washes it has had.
    Washes,
    /// What it costs as sold.
    Price,
    /// How many are sold together.
    Pack,
    /// From whom.
    From,
    /// Where it is.
    Where,
    /// Lot of a bottle.
    Lot,
    /// Last day it may be used.
    Expiry,
    /// Anything else worth keeping.
    Note,
    /// What is not taken over: tags, totals, dates.
    Other,
}

impl Column {
    /// The heading of an empty sheet.
    pub(crate) const fn heading(self) -> &'static str {
        match self {
            Self::What => "what",
            Self::Kind => "sort",
            Self::Count => "how many",
            Self::Size => "size",
            Self::Left => "how full",
            Self::Weight => "weight",
            Self::Jobs => "jobs done",
            Self::Washes => "washes",
            Self::Price => "price",
            Self::Pack => "pack",
            Self::From => "from",
            Self::Where => "where",
            Self::Lot => "lot",
            Self::Expiry => "use by",
            Self::Note => "note",
            Self::Other => "",
        }
    }
}

/// A column of the sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Head {
    /// Which, from 0.
    pub(super) at: usize,
    /// What it says.
    pub(super) column: Column,
    /// Heading as it stands; empty for none.
    pub(super) heading: String,
    /// Unit that the heading gives to bare numbers; empty for none.
    pub(super) unit: String,
}

/// The headings of a sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Heads {
    /// Row they stand in; 0 for none.
    pub(super) row: i64,
    /// Columns that mean something.
    pub(super) columns: Vec<Head>,
}

impl Heads {
    /// Headings as they stand, by what they mean.
    pub(super) fn named(&self) -> Vec<(Column, String)> {
        let columns = self.columns.iter();
        columns
            .map(|head| (head.column, head.heading.clone()))
            .collect()
    }
}

/// Rows from the top among which the headings are looked for.
const ROWS_LOOKED_AT: usize = 15;

/// Finds the headings; nothing where no column says what the things are.
pub(super) fn find(grid: &[Line]) -> Option<Heads> {
    let rows = grid.iter().take(ROWS_LOOKED_AT).enumerate();
    let rated = rows.map(|(index, line)| {
        let above = index.checked_sub(1).and_then(|above| grid.get(above));
        let columns = columns(line, above.filter(|above| above.filled().count() > 1));
        (columns, line.row, line.filled().count())
    });
    let known = |columns: &[Head]| {
        columns
            .iter()
            .filter(|head| head.column != Column::Other)
            .count()
    };
    let has_what = |columns: &[Head]| columns.iter().any(|head| head.column == Column::What);
    // Of a row of headings most cells are known; of others one may be by chance.
    let is_most = |(columns, _, filled): &(Vec<Head>, i64, usize)| {
        has_what(columns) && columns.len() * 2 > *filled
    };
    let best = rated
        .filter(is_most)
        .map(|(columns, row, _)| (columns, row))
        // Of rows that say as much the first.
        .max_by(|(left, left_row), (right, right_row)| {
            known(left).cmp(&known(right)).then(right_row.cmp(left_row))
        });
    match best {
        Some((columns, row)) => Some(Heads { row, columns }),
        None => by_content::heads(grid),
    }
}

/// What the cells of a row mean as headings; a heading that spans columns stands in the row above.
fn columns(line: &Line, above: Option<&Line>) -> Vec<Head> {
    let mut spanning = String::new();
    let mut found: Vec<Head> = Vec::new();
    for (at, cell) in line.cells.iter().enumerate() {
        if let Some(above) = above {
            let wider = above.cell(at);
            if !wider.is_empty() {
                wider.clone_into(&mut spanning);
            }
        }
        let alone = head(at, cell);
        let both = (!spanning.is_empty())
            .then(|| head(at, &format!("{spanning} {cell}")))
            .flatten();
        let under = (!spanning.is_empty())
            .then(|| head(at, &spanning))
            .flatten()
            .filter(|_| cell.is_empty());
        if let Some(head) = alone.or(both).or(under) {
            // A column that means the same as one before adds nothing, but for words and notes.
            let again = found.iter().any(|known| known.column == head.column);
            let adds = matches!(head.column, Column::Kind | Column::Note | Column::Other);
            if !again || adds {
                found.push(head);
            } else if head.column == Column::What {
                found.push(Head {
                    column: Column::Kind,
                    ..head
                });
            }
        }
    }
    found
}

/// What one heading means, with the unit that it gives.
fn head(at: usize, cell: &str) -> Option<Head> {
    if cell.contains(|letter: char| letter.is_ascii_digit()) {
        return None;
    }
    let (bare, unit) = unit_of(cell);
    let text = plain(&bare);
    let column = meaning(&text)
        .or_else(|| meaning(text.trim_end_matches(|letter: char| !letter.is_alphanumeric())))?;
    Some(Head {
        at,
        column,
        heading: cell.to_owned(),
        unit,
    })
}

fn meaning(text: &str) -> Option<Column> {
    let is_it = |words: &[&str]| words.contains(&text);
    let whole = SYNONYMS.iter().find(|(_, words)| is_it(words));
    let whole = whole.map(|(column, _)| *column);
    let is_short = text.split(' ').count() <= 3;
    whole.or_else(|| {
        // The longest of the words that it holds.
        let holds = |word: &str| format!(" {text} ").contains(&format!(" {word} "));
        let all = SYNONYMS.iter().flat_map(|(column, words)| {
            let held = words.iter().filter(|word| word.len() > 2 && holds(word));
            held.map(move |word| (word.len(), *column))
        });
        let longest = all.filter(|_| is_short).max_by_key(|(length, _)| *length);
        longest.map(|(_, column)| column)
    })
}

/// A heading without the unit that it gives, and the unit: `price (EUR)`, `left [ml]`, `size mm`.
fn unit_of(cell: &str) -> (String, String) {
    const UNITS: [&str; 19] = [
        "mm", "cm", "in", "inch", "inches", "ml", "l", "cl", "g", "kg", "gsm", "eur", "gbp", "usd",
        "chf", "€", "£", "%", "$",
    ];
    let known = |unit: &str| UNITS.contains(&unit.to_lowercase().as_str());
    if let Some((before, rest)) = cell.split_once(['(', '[']) {
        let unit = rest.trim_end_matches([')', ']']).trim();
        let unit = unit.strip_prefix("in ").unwrap_or(unit);
        return (
            before.trim().to_owned(),
            if known(unit) {
                unit.to_lowercase()
            } else {
                String::new()
            },
        );
    }
    match cell.rsplit_once([' ', '/']) {
        Some((before, unit)) if known(unit) && !before.trim().is_empty() => {
            let before = before.trim().trim_end_matches(" in").trim();
            (before.to_owned(), unit.to_lowercase())
        }
        _ => {
            let unit = cell.to_lowercase();
            let unit = if known(&unit) { unit } else { String::new() };
            (cell.to_owned(), unit)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::grid;
    use super::{Column, find};

    fn found(text: &str) -> (i64, Vec<(Column, String)>) {
        let heads = find(&grid::of(text)).unwrap();
        let columns = heads
            .columns
            .iter()
            .map(|head| (head.column, head.unit.clone()));
        (heads.row, columns.collect())
    }

    #[test]
    fn headings_are_known_in_many_words_with_their_units() {
        use Column::{Count, Left, Note, Price, Size, What, Where};
        let unitless = |column| (column, String::new());
        assert_eq!(
            found("Item,Qty,Diameter (mm),Left [ml],Price EUR,Location,Notes\nx,1,2,3,4,5,6"),
            (
                1,
                vec![
                    unitless(What),
                    unitless(Count),
                    (Size, "mm".to_owned()),
                    (Left, "ml".to_owned()),
                    (Price, "eur".to_owned()),
                    unitless(Where),
                    unitless(Note),
                ]
            )
        );
        assert_eq!(
            found("Artikel;Anzahl;Größe;Preis;Lagerort\nx;1;2;3;4"),
            (
                1,
                vec![
                    unitless(What),
                    unitless(Count),
                    unitless(Size),
                    unitless(Price),
                    unitless(Where),
                ]
            )
        );
    }

    #[test]
    fn a_title_above_and_headings_that_span_columns_are_passed() {
        let text =
            "Gannet Yard kit list,,,\n,,,\nThing,Stock,,Price\n,how many,left,(EUR)\npad,5,,18.90";
        let (row, columns) = found(text);
        let columns: Vec<Column> = columns.into_iter().map(|(column, _)| column).collect();
        assert_eq!(row, 4);
        assert_eq!(
            columns,
            [Column::What, Column::Count, Column::Left, Column::Price]
        );
    }

    #[test]
    fn a_sheet_without_headings_is_read_by_what_stands_in_it() {
        let (row, columns) = found("coarse pad,5,150 mm,18.90\nfine pad,6,150 mm,17.90");
        let columns: Vec<Column> = columns.into_iter().map(|(column, _)| column).collect();
        assert_eq!(row, 0);
        assert_eq!(
            columns,
            [Column::What, Column::Count, Column::Size, Column::Price]
        );
    }
}
