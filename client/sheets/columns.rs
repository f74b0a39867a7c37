//! The columns of a message: its fields, dotted where a message holds another.
//!
//! They serve the sheets. They come from the contract's descriptor; a figure that belongs to another
//! sort of thing than the rest of its line is refused.

use prost_reflect::{DynamicMessage, FieldDescriptor, Kind, MessageDescriptor, Value};

use super::cell;

/// What only an edit asks for, and no sheet holds.
const ETAG: &str = "etag";

/// A field that is a column.
#[derive(Clone, Debug)]
pub(super) struct Column {
    /// Name, dotted: `price.amount`.
    pub(super) name: String,
    /// The way to the field from the message.
    path: Vec<FieldDescriptor>,
}

/// The columns of a message whose names are wanted; lists of messages and times are none.
pub(super) fn of(
    message: &MessageDescriptor,
    prefix: &str,
    wanted: &dyn Fn(&str) -> bool,
) -> Vec<Column> {
    let mut columns = Vec::new();
    gather(message, &[], prefix, wanted, &mut columns);
    columns
}

fn gather(
    message: &MessageDescriptor,
    above: &[FieldDescriptor],
    prefix: &str,
    wanted: &dyn Fn(&str) -> bool,
    columns: &mut Vec<Column>,
) {
    for field in message.fields().filter(|field| field.name() != ETAG) {
        let name = format!("{prefix}{}", field.name());
        let mut path = above.to_vec();
        path.push(field.clone());
        match field.kind() {
            Kind::Message(inner)
                if !field.is_list() && inner.full_name() != "google.protobuf.Timestamp" =>
            {
                gather(&inner, &path, &format!("{name}."), wanted, columns);
            }
            Kind::Message(_) | Kind::Double | Kind::Float => {}
            _ if wanted(&name) => columns.push(Column { name, path }),
            _ => {}
        }
    }
}

impl Column {
    /// The cell of a message; empty for what is not said.
    pub(super) fn told(&self, message: &DynamicMessage) -> String {
        let Some((last, above)) = self.path.split_last() else {
            return String::new();
        };
        let mut message = std::borrow::Cow::Borrowed(message);
        for field in above {
            if !message.has_field(field) {
                return String::new();
            }
            let inner = message.get_field(field).as_message().cloned();
            let Some(inner) = inner else {
                return String::new();
            };
            message = std::borrow::Cow::Owned(inner);
        }
        if last.supports_presence() && !message.has_field(last) {
            return String::new();
        }
        cell::told(last, &message.get_field(last))
    }

    /// Puts a cell that is not empty into a message.
    ///
    /// # Errors
    /// A sentence that says what the cell may be, or that the line is of another sort.
    pub(super) fn put(&self, message: &mut DynamicMessage, text: &str) -> Result<(), String> {
        let Some((last, above)) = self.path.split_last() else {
            return Ok(());
        };
        let value = cell::read(last, text)?;
        if last.parent_message().full_name() == "fettlebook.v1.Money" {
            match last.name() {
                "amount" => cell::amount(text)?,
                _ => cell::currency(text)?,
            }
        }
        let mut message = message;
        for field in above {
            if let Some(other) = other_sort(message, field) {
                return Err(format!(
                    "The line is of a {}, which has no {}.",
                    other.name(),
                    self.name
                ));
            }
            message = match message.get_field_mut(field) {
                Value::Message(inner) => inner,
                _ => return Ok(()),
            };
        }
        message
            .try_set_field(last, value)
            .map_err(|_| format!("'{}' does not fit here.", cell::excerpt(text)))
    }

    /// What the column is a part of: `price` of `price.amount`; empty for a field by itself.
    pub(super) fn part_of(&self) -> &str {
        self.name.rsplit_once('.').map_or("", |(part, _)| part)
    }
}

/// The sort of thing a message is already, where a field belongs to another.
fn other_sort(message: &DynamicMessage, field: &FieldDescriptor) -> Option<FieldDescriptor> {
    let one_of = field.containing_oneof()?;
    let sorts = one_of.fields();
    let mut others = sorts.filter(|other| other.number() != field.number());
    others.find(|other| message.has_field(other))
}
