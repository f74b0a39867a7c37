//! One row of a sheet: what it says of a thing, or why it says nothing.

use fettlebook_contract::v1::{Make, StartPrice};

use super::grid::Line;
use super::headings::{Column, Head, Heads};
use super::things::{self, Said, Unclear};
use super::words::{plain, slug, words};
use super::{Beside, Sheet, Understood};
use crate::fault::Problem;
use crate::said::{is_none, price};

mod cells;
mod pieces;

use cells::{last_day, without_count};

/// Words that begin a row of sums.
const TOTALS: [&str; 12] = [
    "total",
    "totals",
    "sum",
    "subtotal",
    "grand total",
    "gesamt",
    "summe",
    "zwischensumme",
    "totaal",
    "suma",
    "somme",
    "in all",
];

/// Reads rows one by one.
pub(super) struct Reader<'a> {
    file: &'a str,
    heads: &'a Heads,
    beside: &'a Beside,
    /// The heading of the part that the next rows are in.
    section: String,
}

/// What is wrong with a cell of a row.
struct Wrong(Column, String, String);

impl From<Unclear> for Wrong {
    fn from(unclear: Unclear) -> Self {
        Self(unclear.column, unclear.text, unclear.todo)
    }
}

impl<'a> Reader<'a> {
    pub(super) fn new(file: &'a str, heads: &'a Heads, beside: &'a Beside) -> Self {
        Self {
            file,
            heads,
            beside,
            section: String::new(),
        }
    }

    /// Reads a row into a sheet.
    pub(super) fn read(&mut self, line: &Line, sheet: &mut Sheet) {
        if let Some(why) = self.passed_over(line) {
            sheet.passed_over.push((line.row, why.to_owned()));
            return;
        }
        let mut wrong = Vec::new();
        match self.understand(line, &mut wrong) {
            Some(row) if wrong.is_empty() && row.pieces.is_empty() => {
                sheet
                    .passed_over
                    .push((line.row, "there is none".to_owned()));
            }
            Some(row) if wrong.is_empty() => sheet.rows.push(row),
            _ => {}
        }
        let problems = wrong.into_iter().map(|Wrong(column, text, todo)| Problem {
            file: self.file.to_owned(),
            line: line.row,
            column: place(self.head(column), column, line.row),
            text,
            todo,
        });
        sheet.problems.extend(problems);
    }

    /// Why a row says nothing of a thing; nothing where it does.
    fn passed_over(&mut self, line: &Line) -> Option<&'static str> {
        let what = self.cell(line, Column::What);
        let text = plain(&what);
        let begins = |word: &&str| text == **word || text.starts_with(&format!("{word} "));
        if TOTALS.iter().any(begins) {
            return Some("a sum");
        }
        if what.is_empty() {
            let is_figure = |cell: &str| !cell.chars().any(|letter| letter.is_alphabetic());
            let is_sum = line
                .filled()
                .all(|cell| is_figure(cell) || TOTALS.contains(&&*plain(cell)));
            return is_sum.then_some("a sum");
        }
        let heads = self.heads.columns.iter();
        if heads
            .clone()
            .filter(|head| line.cell(head.at) == head.heading)
            .count()
            > 1
        {
            return Some("the headings again");
        }
        let says_more = heads
            .filter(|head| !matches!(head.column, Column::What | Column::Other))
            .any(|head| !line.cell(head.at).is_empty());
        if !says_more && things::is_section(&what) {
            self.section = what;
            return Some("a heading");
        }
        None
    }

    fn head(&self, column: Column) -> Option<&Head> {
        self.heads.columns.iter().find(|head| head.column == column)
    }

    /// What a row says in the columns of that meaning.
    fn cell(&self, line: &Line, column: Column) -> String {
        let heads = self
            .heads
            .columns
            .iter()
            .filter(|head| head.column == column);
        let cells = heads
            .map(|head| line.cell(head.at))
            .filter(|cell| !cell.is_empty());
        cells.collect::<Vec<_>>().join(" ")
    }

    /// The same with the unit of its heading behind a bare number.
    fn measured(&self, line: &Line, column: Column) -> String {
        let cell = self.cell(line, column);
        let unit = self.head(column).map_or("", |head| head.unit.as_str());
        let is_bare = cell.ends_with(|letter: char| letter.is_ascii_digit());
        if is_bare && !unit.is_empty() {
            return format!("{cell} {unit}");
        }
        cell
    }

    fn understand(&self, line: &Line, wrong: &mut Vec<Wrong>) -> Option<Understood> {
        let what = self.cell(line, Column::What);
        let mut count = self.cell(line, Column::Count);
        if what.is_empty() {
            let text = "It does not say what the thing is.".to_owned();
            wrong.push(Wrong(
                Column::What,
                text,
                "Write it, such as: coarse foam pad.".to_owned(),
            ));
            return None;
        }
        let (what, counted) = without_count(&what);
        if count.is_empty() {
            count = counted;
        }
        let size = self.measured(line, Column::Size);
        let mut taken = Vec::new();
        let (make, is_new) = match self.known(&what, &size) {
            Some(make) => (make.clone(), false),
            None => match self.new_make(line, &what, &size, &mut taken) {
                Ok(make) => (make, true),
                Err(unclear) => {
                    wrong.push(unclear.into());
                    self.look_at_rest(line, &count, wrong);
                    return None;
                }
            },
        };
        let pieces = self.pieces(line, &make, &count, &mut taken);
        let pieces = keep(pieces, wrong).unwrap_or_default();
        let price = keep(self.price(line, &make), wrong).flatten();
        Some(Understood {
            row: line.row,
            name: make.name.clone(),
            make: is_new.then_some(make),
            price,
            pieces,
            taken,
        })
    }

    /// What else is wrong with a row whose thing is not clear.
    fn look_at_rest(&self, line: &Line, count: &str, wrong: &mut Vec<Wrong>) {
        keep(pieces::counts_something(count), wrong);
        keep(self.price(line, &Make::default()), wrong);
        keep(self.at_place(line), wrong);
        keep(self.expiry(line), wrong);
    }

    /// The make that a row names, by its id or its name.
    fn known(&self, what: &str, size: &str) -> Option<&'a Make> {
        let makes = &self.beside.makes;
        let by_id = |text: &str| makes.get(&slug(text));
        let wanted = plain(what);
        let by_name = || makes.values().find(|make| plain(&make.name) == wanted);
        by_id(what).or_else(by_name).or_else(|| {
            let sized = format!("{what} {size}");
            by_id(&sized).or_else(|| {
                let wanted = plain(&sized.replace("mm", ""));
                makes.values().find(|make| plain(&make.name) == wanted)
            })
        })
    }

    fn new_make(
        &self,
        line: &Line,
        what: &str,
        size: &str,
        taken: &mut Vec<String>,
    ) -> Result<Make, Unclear> {
        let text = format!("{what} {}", self.cell(line, Column::Kind));
        let said = Said {
            words: words(&text),
            text,
            size: size.to_owned(),
            section: self.section.clone(),
        };
        let thing = things::understand(&said)?;
        taken.extend(thing.taken);
        let digits = |text: &str| {
            text.chars()
                .filter(char::is_ascii_digit)
                .collect::<String>()
        };
        let name = if size.is_empty() || digits(what).contains(&digits(size)) {
            what.to_owned()
        } else {
            format!("{what} {size}")
        };
        let from = self.cell(line, Column::From);
        let from = (!from.is_empty()).then(|| format!("from {from}"));
        let note = self.cell(line, Column::Note);
        let mut notes = Vec::from_iter((!note.is_empty()).then_some(note));
        notes.extend(from);
        let mut codes = Vec::new();
        if things::is_wipe(&said) {
            codes = things::WIPE_CODES.map(str::to_owned).to_vec();
            notes.push(
                "codes as for a wipe with propan-2-ol; the data sheet of yours decides".to_owned(),
            );
        }
        Ok(Make {
            make: slug(&name),
            name,
            pack_count: 1,
            ghs_codes: codes,
            note: notes.join("; "),
            figures: Some(thing.figures),
            ..Make::default()
        })
    }

    fn price(&self, line: &Line, make: &Make) -> Result<Option<StartPrice>, Wrong> {
        let cell = self.measured(line, Column::Price);
        let pack = self.cell(line, Column::Pack);
        if cell.is_empty() || is_none(&cell) {
            return Ok(None);
        }
        let said = price::read(&cell, self.beside.currency.as_deref());
        let said = said.map_err(|why| {
            let (text, todo) = parted(&why);
            Wrong(Column::Price, text, todo)
        })?;
        let in_pack = if pack.is_empty() {
            None
        } else {
            let digits: String = pack
                .chars()
                .skip_while(|letter| !letter.is_ascii_digit())
                .take_while(char::is_ascii_digit)
                .collect();
            let count = digits
                .parse::<i64>()
                .ok()
                .filter(|count| (1..=10_000).contains(count));
            let unclear = || {
                let text = format!("'{pack}' is not how many are sold together.");
                Wrong(Column::Pack, text, "Write a number, such as 2.".to_owned())
            };
            Some(count.ok_or_else(unclear)?)
        };
        Ok(Some(StartPrice {
            row: line.row,
            make: make.make.clone(),
            price: Some(said.price),
            pack_count: said.pack.or(in_pack),
        }))
    }

    fn at_place(&self, line: &Line) -> Result<String, Wrong> {
        let cell = self.cell(line, Column::Where);
        let place = slug(&cell);
        if !cell.is_empty() && place.is_empty() {
            let text = format!("'{cell}' names no place.");
            let todo = "Write one, such as bench or van-a.".to_owned();
            return Err(Wrong(Column::Where, text, todo));
        }
        Ok(place)
    }

    fn expiry(&self, line: &Line) -> Result<String, Wrong> {
        let cell = self.cell(line, Column::Expiry);
        if cell.is_empty() {
            return Ok(String::new());
        }
        last_day(&cell).ok_or_else(|| {
            let text = format!("'{cell}' is not a day.");
            Wrong(
                Column::Expiry,
                text,
                "Write it as 2027-03-31 or 03/2027.".to_owned(),
            )
        })
    }
}

fn unclear(column: Column, why: &str) -> Wrong {
    let (text, todo) = parted(why);
    Wrong(column, text, todo)
}

/// The first sentence of what is wrong, and the rest.
fn parted(why: &str) -> (String, String) {
    match why.split_once(". ") {
        Some((text, todo)) => (format!("{text}."), todo.to_owned()),
        None => (why.to_owned(), String::new()),
    }
}

/// The value, or nothing and what is wrong put with the rest.
fn keep<T>(read: Result<T, Wrong>, wrong: &mut Vec<Wrong>) -> Option<T> {
    read.map_err(|why| wrong.push(why)).ok()
}

/// A cell as the sheet names its column, with what a spreadsheet calls it: `price (E7)`.
fn place(head: Option<&Head>, column: Column, row: i64) -> String {
    let Some(head) = head else {
        return column.heading().to_owned();
    };
    let cell = format!("{}{row}", letter(head.at));
    if head.heading.is_empty() {
        return cell;
    }
    format!("{} ({cell})", head.heading)
}

/// The letters by which a spreadsheet knows a column, from 0.
fn letter(at: usize) -> String {
    const LETTERS: usize = 26;
    let low = u8::try_from(at % LETTERS).unwrap_or_default();
    let last = char::from(b'A'.saturating_add(low));
    match at / LETTERS {
        0 => last.to_string(),
        more => format!("{}{last}", letter(more - 1)),
    }
}
