//! Lists as comma-separated values.
//!
//! It serves spreadsheets and scripts. The columns are the contract's JSON names, dotted where a
//! message holds another; they come from the descriptor, so they are there in an empty list too and
//! never change with the rows.

use prost::{Message, Name};
use prost_reflect::{FieldDescriptor, Kind, MessageDescriptor};
use serde_json::Value;

use crate::fault::Fault;
use crate::json;

/// A header row and a row for each message.
///
/// # Errors
/// When a message cannot be written.
pub(crate) fn table<M: Message + Name>(messages: &[M]) -> Result<String, Fault> {
    let mut columns = Vec::new();
    gather(&json::descriptor::<M>()?, &[], &mut columns);
    let mut writer = csv::Writer::from_writer(Vec::new());
    let failed = |_| Fault::answer("a list that can be written as CSV");
    writer
        .write_record(columns.iter().map(|path| path.join(".")))
        .map_err(failed)?;
    for message in messages {
        let value = json::to_value(message)?;
        writer
            .write_record(columns.iter().map(|path| cell(&value, path)))
            .map_err(failed)?;
    }
    let bytes = writer
        .into_inner()
        .map_err(|_| Fault::answer("a list that can be written as CSV"))?;
    String::from_utf8(bytes).map_err(|_| Fault::answer("text in UTF-8"))
}

/// Paths of all columns, in the order of the contract.
fn gather(message: &MessageDescriptor, above: &[String], columns: &mut Vec<Vec<String>>) {
    for field in message.fields() {
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
    use super::table;
    use fettlebook_contract::v1::{Job, JobState};

    #[test]
    fn the_header_is_the_contract_and_is_there_without_rows() {
        assert_eq!(
            table::<Job>(&[]).unwrap(),
            "job,car,routine,place,startTime,utcOffsetS,leftOutPanels,state,note,lastSeq,doneTime\n"
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
                "saloon-thursday,,,,,0,roof bonnet,JOB_STATE_BOOKED,\"silver, \"\"thin\"\" boot\",0,"
            )
        );
    }
}
