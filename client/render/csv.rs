//! Lists as separated values, for spreadsheets and scripts.
//!
//! Columns and words are those of every other list and file (`columns`). A cell of text that a spreadsheet would
//! take for a formula carries an apostrophe before it. Where commas stand before decimals semicolons stand between
//! cells, and a mark at the very beginning says that the text is UTF-8, without which such spreadsheets do not
//! know it.

use std::borrow::Cow;

use jiff::tz::TimeZone;
use prost::{Message, Name};

use crate::columns::{Cell, Decimals, Rows};
use crate::fault::Fault;

/// What says at the beginning of a file that it is UTF-8.
const BYTE_ORDER_MARK: char = '\u{FEFF}';

/// A header row and the lines of each message.
///
/// # Errors
/// When a message cannot be written.
pub(crate) fn table<M: Message + Name>(
    messages: &[M],
    zone: &TimeZone,
    decimals: Decimals,
) -> Result<String, Fault> {
    let messages = messages.iter().map(|message| (Vec::new(), message));
    table_of(&Rows::whole()?, messages, zone, decimals)
}

/// A header row and the lines of each message, each with the cells that stand before it.
///
/// # Errors
/// When a message cannot be written.
pub(crate) fn table_of<'a, M: Message + Name + 'a>(
    rows: &Rows<M>,
    messages: impl IntoIterator<Item = (Vec<Cell>, &'a M)>,
    zone: &TimeZone,
    decimals: Decimals,
) -> Result<String, Fault> {
    let mut lines = vec![rows.header()];
    for (before, message) in messages {
        lines.extend(rows.lines(&before, message, zone)?);
    }
    begun(&lines, decimals)
}

/// Lines from the first of a file on.
///
/// # Errors
/// When they cannot be written.
pub(crate) fn begun(lines: &[Vec<Cell>], decimals: Decimals) -> Result<String, Fault> {
    let text = written(lines, decimals)?;
    Ok(match decimals {
        Decimals::Point => text,
        Decimals::Comma => format!("{BYTE_ORDER_MARK}{text}"),
    })
}

/// Further lines of a file, each cell guarded.
///
/// # Errors
/// When they cannot be written.
pub(crate) fn written(lines: &[Vec<Cell>], decimals: Decimals) -> Result<String, Fault> {
    let failed = || Fault::answer("a list that can be written as CSV");
    let mut writer = csv::WriterBuilder::new()
        .delimiter(between(decimals))
        .from_writer(Vec::new());
    for line in lines {
        for cell in line {
            let cell = shown(cell, decimals);
            writer.write_field(cell.as_ref()).map_err(|_| failed())?;
        }
        writer.write_record(None::<&[u8]>).map_err(|_| failed())?;
    }
    let bytes = writer.into_inner().map_err(|_| failed())?;
    String::from_utf8(bytes).map_err(|_| Fault::answer("text in UTF-8"))
}

/// How the text of a file is written, by what stands between the cells of its first line.
pub(crate) fn decimals_of(text: &str) -> Decimals {
    let mut is_quoted = false;
    let mut count = [0_usize, 0];
    for byte in text.bytes() {
        match byte {
            b'"' => is_quoted = !is_quoted,
            b'\n' | b'\r' if !is_quoted => break,
            b',' if !is_quoted => count[0] += 1,
            b';' if !is_quoted => count[1] += 1,
            _ => {}
        }
    }
    if count[1] > count[0] {
        Decimals::Comma
    } else {
        Decimals::Point
    }
}

/// What stands between cells.
pub(crate) const fn between(decimals: Decimals) -> u8 {
    match decimals {
        Decimals::Point => b',',
        Decimals::Comma => b';',
    }
}

/// A cell as it stands in a file.
fn shown(cell: &Cell, decimals: Decimals) -> Cow<'_, str> {
    match (cell, decimals) {
        (Cell::Text(text), _) => guarded(text),
        (Cell::Number(number), Decimals::Point) => Cow::Borrowed(number),
        (Cell::Number(number), Decimals::Comma) => Cow::Owned(number.replace('.', ",")),
    }
}

/// What puts a formula into a cell of a spreadsheet when it stands first.
const FORMULA: [char; 6] = ['=', '+', '-', '@', '\t', '\r'];
const APOSTROPHE: char = '\'';

/// A cell as it is written: text that would be a formula has an apostrophe before it, a number has
/// none.
///
/// Source: OWASP, CSV Injection, the list of characters that begin a formula.
fn guarded(cell: &str) -> Cow<'_, str> {
    if begins_formula(cell) && !is_number(cell) {
        Cow::Owned(format!("{APOSTROPHE}{cell}"))
    } else {
        Cow::Borrowed(cell)
    }
}

/// A cell as it was before it was guarded.
pub(crate) fn unguarded(cell: &str) -> &str {
    cell.strip_prefix(APOSTROPHE)
        .filter(|rest| begins_formula(rest))
        .unwrap_or(cell)
}

/// Whether a cell would be a formula, or would be taken for a guarded one.
fn begins_formula(cell: &str) -> bool {
    cell.trim_start_matches(APOSTROPHE).starts_with(FORMULA)
}

/// Digits with a sign, a point or an exponent, and nothing that is only called a number.
fn is_number(cell: &str) -> bool {
    let plain = |c: char| c.is_ascii_digit() || matches!(c, '+' | '-' | '.' | 'e' | 'E');
    cell.chars().all(plain) && cell.parse::<f64>().is_ok()
}

#[cfg(test)]
mod tests;
