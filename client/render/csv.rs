//! Lists as comma-separated values.
//!
//! It serves spreadsheets and scripts. The columns are the contract's JSON names, dotted where a
//! message holds another; they come from the descriptor, so they are there in an empty list too and
//! never change with the rows. A cell of text that a spreadsheet would take for a formula carries an
//! apostrophe before it.

use std::borrow::Cow;

use prost::{Message, Name};
use prost_reflect::{FieldDescriptor, Kind, MessageDescriptor};
use serde_json::Value;

use crate::fault::Fault;
use crate::json;

/// What only an edit asks for, and no column shows.
const ETAG: &str = "etag";

/// A header row and a row for each message.
///
/// # Errors
/// When a message cannot be written.
pub(crate) fn table<M: Message + Name>(messages: &[M]) -> Result<String, Fault> {
    table_with(&[], messages.iter().map(|message| (Vec::new(), message)))
}

/// A header row and a row for each message, with columns of its own before those of the message.
///
/// # Errors
/// When a message cannot be written.
pub(crate) fn table_with<'a, M: Message + Name + 'a>(
    before: &[&str],
    rows: impl IntoIterator<Item = (Vec<String>, &'a M)>,
) -> Result<String, Fault> {
    let columns = Columns::of::<M>()?;
    let before = before.iter().map(|name| (*name).to_owned());
    let mut records = vec![before.chain(columns.names()).collect::<Vec<_>>()];
    for (before, message) in rows {
        records.push(before.into_iter().chain(columns.cells(message)?).collect());
    }
    written(&records)
}

/// The columns of a message type, for lists that are written a part at a time.
pub(crate) struct Columns(Vec<Vec<String>>);

impl Columns {
    /// Those of a message type.
    ///
    /// # Errors
    /// When the contract does not hold it.
    pub(crate) fn of<M: Message + Name>() -> Result<Self, Fault> {
        let mut columns = Vec::new();
        gather(&json::descriptor::<M>()?, &[], &mut columns);
        Ok(Self(columns))
    }

    /// The header row.
    ///
    /// # Errors
    /// When it cannot be written.
    pub(crate) fn header(&self) -> Result<String, Fault> {
        written(&[self.names().collect()])
    }

    /// A row for each message.
    ///
    /// # Errors
    /// When they cannot be written.
    pub(crate) fn rows<M: Message + Name>(&self, messages: &[M]) -> Result<String, Fault> {
        let rows = messages.iter().map(|message| self.cells(message));
        written(&rows.collect::<Result<Vec<_>, _>>()?)
    }

    fn names(&self) -> impl Iterator<Item = String> {
        self.0.iter().map(|path| path.join("."))
    }

    fn cells<M: Message + Name>(&self, message: &M) -> Result<Vec<String>, Fault> {
        let value = json::to_value(message)?;
        Ok(self.0.iter().map(|path| cell(&value, path)).collect())
    }
}

/// Rows of cells as comma-separated values, each cell guarded.
///
/// # Errors
/// When they cannot be written.
pub(crate) fn written(records: &[Vec<String>]) -> Result<String, Fault> {
    let failed = || Fault::answer("a list that can be written as CSV");
    let mut writer = csv::Writer::from_writer(Vec::new());
    for record in records {
        for cell in record {
            let cell = guarded(cell);
            writer.write_field(cell.as_ref()).map_err(|_| failed())?;
        }
        writer.write_record(None::<&[u8]>).map_err(|_| failed())?;
    }
    let bytes = writer.into_inner().map_err(|_| failed())?;
    String::from_utf8(bytes).map_err(|_| Fault::answer("text in UTF-8"))
}

/// What puts a formula into a cell of a spreadsheet when it stands first.
const FORMULA: [char; 6] = ['=', '+', '-', '@', '\t', '\r'];
const APOSTROPHE: char = '\'';

/// A cell as it is written: text that would be a formula has an apostrophe before it, a number has
/// none.
///
/// Source: OWASP, CSV Injection, the list of characters that begin a formula.
pub(crate) fn guarded(cell: &str) -> Cow<'_, str> {
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

/// Paths of all columns, in the order of the contract.
fn gather(message: &MessageDescriptor, above: &[String], columns: &mut Vec<Vec<String>>) {
    for field in message.fields().filter(|field| field.name() != ETAG) {
        let mut path = above.to_vec();
        path.push(field.json_name().to_owned());
        match nested(&field) {
            Some(inner) => gather(&inner, &path, columns),
            None => columns.push(path),
        }
    }
}

/// The message whose fields become columns of their own.
fn nested(field: &FieldDescriptor) -> Option<MessageDescriptor> {
    match field.kind() {
        Kind::Message(inner)
            if !field.is_list() && inner.full_name() != "google.protobuf.Timestamp" =>
        {
            Some(inner)
        }
        _ => None,
    }
}

fn cell(value: &Value, path: &[String]) -> String {
    let found = path.iter().try_fold(value, |inside, name| inside.get(name));
    match found {
        None | Some(Value::Null) => String::new(),
        Some(Value::String(text)) => text.clone(),
        Some(Value::Array(items)) if items.iter().all(Value::is_string) => items
            .iter()
            .filter_map(Value::as_str)
            .collect::<Vec<_>>()
            .join(" "),
        Some(other) => other.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::{guarded, table, table_with, unguarded};
    use fettlebook_contract::v1::{Job, JobState};

    /// Source: OWASP, CSV Injection, the list of characters that begin a formula.
    #[test]
    fn a_cell_that_would_be_a_formula_carries_an_apostrophe_and_a_number_none() {
        for text in [
            "=1+1",
            "+cmd|' /C calc'!A0",
            "-2+3",
            "-",
            "-inf",
            "@SUM(A1)",
            "\t=1",
            "\r=1",
            "-18.90 EUR",
            "'=1",
            "''@a",
        ] {
            assert_eq!(guarded(text), format!("'{text}"), "{text}");
        }
        for text in [
            "", "-5", "+5", "-0.25", "-1e-7", "1=1", "it's", "'quoted'", "a-b",
        ] {
            assert_eq!(guarded(text), text);
        }
    }

    #[test]
    fn a_guarded_cell_is_read_back_as_it_was() {
        for text in [
            "=1", "'=1", "''=1", "'it", "''", "'", "-5", "'-5", "-5 x", "@", "'@", "\t", "", "a",
        ] {
            assert_eq!(unguarded(&guarded(text)), text, "{text:?}");
        }
    }

    #[test]
    fn every_list_is_guarded_and_may_have_columns_of_its_own() {
        let job = Job {
            job: "saloon".to_owned(),
            note: "=HYPERLINK(\"x\")".to_owned(),
            utc_offset_s: -3_600,
            ..Job::default()
        };
        let text = table_with(&["supplier"], [(vec!["@tern".to_owned()], &job)]).unwrap();
        assert!(text.starts_with("supplier,job,"), "{text}");
        let row = text.lines().nth(1).unwrap();
        assert!(row.starts_with("'@tern,saloon,"), "{row}");
        assert!(row.contains(",-3600,"), "{row}");
        assert!(row.contains("\"'=HYPERLINK(\"\"x\"\")\""), "{row}");
    }

    #[test]
    fn the_header_is_the_contract_and_is_there_without_rows() {
        assert_eq!(
            table::<Job>(&[]).unwrap(),
            "job,car,routine,place,startTime,utcOffsetS,leftOutPanels,state,note,lastSeq,doneTime,\
             taken.seq,taken.by,taken.takenTime,taken.tags,taken.despite,taken.passed,taken.unlogged,person\n"
        );
    }

    #[test]
    fn a_row_is_quoted_where_it_must_be() {
        let job = Job {
            job: "saloon-thursday".to_owned(),
            left_out_panels: vec!["roof".to_owned(), "bonnet".to_owned()],
            state: JobState::Booked.into(),
            note: "silver, \"thin\" boot".to_owned(),
            ..Job::default()
        };
        let text = table(&[job]).unwrap();
        assert_eq!(
            text.lines().nth(1),
            Some(
                "saloon-thursday,,,,,0,roof bonnet,JOB_STATE_BOOKED,\"silver, \"\"thin\"\" boot\",0,,,,,,,,,"
            )
        );
    }
}
