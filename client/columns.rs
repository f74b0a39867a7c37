//! The columns of a message in every list and file of values: its fields, as the contract spells them,
//! dotted where a message holds another.
//!
//! There is one spelling, so that what a list shows can be looked for in a file and read in again. They come from
//! the contract's descriptor: they are there in an empty list too, and a field that is added there is a column
//! without a word here. A figure that belongs to another sort of thing than the rest of its line is refused.

use jiff::tz::TimeZone;
use prost_reflect::{DynamicMessage, FieldDescriptor, Kind, MessageDescriptor, Value};

pub(crate) mod cell;
mod rows;

pub(crate) use cell::{Cell, Decimals};
pub(crate) use rows::Rows;

/// What only an edit asks for, and no column shows.
const ETAG: &str = "etag";
const TIMESTAMP: &str = "google.protobuf.Timestamp";
const MONEY: &str = "fettlebook.v1.Money";

/// Lists within what stands in a line, each told in one cell, as JSON in the contract's names.
const WITHIN: [(&str, &str); 3] = [("Step", "shares"), ("Panel", "parts"), ("Job", "sets")];

/// A field that is a column.
#[derive(Clone, Debug)]
pub(crate) struct Column {
    /// Name, dotted: `price.amount`.
    pub(crate) name: String,
    /// The way to the field from the message.
    path: Vec<FieldDescriptor>,
}

/// The columns of a message whose names are wanted; lists of messages are none.
pub(crate) fn of(
    message: &MessageDescriptor,
    prefix: &str,
    wanted: &dyn Fn(&Column) -> bool,
) -> Vec<Column> {
    let mut columns = Vec::new();
    gather(message, &[], prefix, &mut columns);
    columns.retain(wanted);
    columns
}

fn gather(
    message: &MessageDescriptor,
    above: &[FieldDescriptor],
    prefix: &str,
    columns: &mut Vec<Column>,
) {
    for field in message.fields().filter(|field| field.name() != ETAG) {
        let name = format!("{prefix}{}", field.name());
        let mut path = above.to_vec();
        path.push(field.clone());
        match field.kind() {
            Kind::Message(inner) if inner.full_name() != TIMESTAMP => {
                if is_within(&field) {
                    columns.push(Column { name, path });
                } else if !field.is_list() {
                    gather(&inner, &path, &format!("{name}."), columns);
                }
            }
            _ => columns.push(Column { name, path }),
        }
    }
}

/// Whether it is a list that is told in one cell.
fn is_within(field: &FieldDescriptor) -> bool {
    let of = field.parent_message();
    WITHIN.contains(&(of.name(), field.name()))
}

impl Column {
    /// Whether its cells can be put into a message again: times and estimates are there to be read.
    pub(crate) fn is_read_in(&self) -> bool {
        let kind = self.path.last().map(FieldDescriptor::kind);
        self.path.last().is_some_and(is_within)
            || !matches!(
                kind,
                None | Some(Kind::Message(_) | Kind::Double | Kind::Float)
            )
    }

    /// The cell of a message, times as a clock in that zone shows them; empty for what is not said.
    pub(crate) fn told(&self, message: &DynamicMessage, zone: &TimeZone) -> Cell {
        let Some((last, above)) = self.path.split_last() else {
            return Cell::default();
        };
        let mut message = std::borrow::Cow::Borrowed(message);
        for field in above {
            if !message.has_field(field) {
                return Cell::default();
            }
            let inner = message.get_field(field).as_message().cloned();
            let Some(inner) = inner else {
                return Cell::default();
            };
            message = std::borrow::Cow::Owned(inner);
        }
        if last.supports_presence() && !message.has_field(last) {
            return Cell::default();
        }
        let told = cell::told(last, &message.get_field(last), zone);
        if self.is_amount() {
            told.into_number()
        } else {
            told
        }
    }

    /// Puts a cell that is not empty into a message.
    ///
    /// # Errors
    /// A sentence that says what the cell may be, or that the line is of another sort.
    pub(crate) fn put(
        &self,
        message: &mut DynamicMessage,
        text: &str,
        decimals: Decimals,
    ) -> Result<(), String> {
        let Some((last, above)) = self.path.split_last() else {
            return Ok(());
        };
        let mut value = cell::read(last, text)?;
        if self.is_amount() {
            value = Value::String(cell::amount(text, decimals)?);
        } else if last.parent_message().full_name() == MONEY {
            cell::currency(text)?;
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
    pub(crate) fn part_of(&self) -> &str {
        self.name.rsplit_once('.').map_or("", |(part, _)| part)
    }

    /// Whether it is the amount of a sum of money.
    fn is_amount(&self) -> bool {
        self.path.last().is_some_and(|last| {
            last.parent_message().full_name() == MONEY && last.name() == "amount"
        })
    }
}

/// The sort of thing a message is already, where a field belongs to another.
fn other_sort(message: &DynamicMessage, field: &FieldDescriptor) -> Option<FieldDescriptor> {
    let one_of = field.containing_oneof()?;
    let sorts = one_of.fields();
    let mut others = sorts.filter(|other| other.number() != field.number());
    others.find(|other| message.has_field(other))
}

#[cfg(test)]
mod tests;
