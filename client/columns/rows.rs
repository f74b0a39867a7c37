//! Messages as lines of cells: one line each, and further lines for what they hold in lists.
//!
//! The first cells of every line are the key; a further line of the same key repeats it and holds the next of
//! each list, and nothing else.

use std::marker::PhantomData;

use jiff::tz::TimeZone;
use prost::{Message, Name};
use prost_reflect::{DynamicMessage, FieldDescriptor, Kind};

use super::cell::zone_of;
use super::{Cell, Column};
use crate::fault::Fault;
use crate::json;

/// What messages hold in lists that are told in further lines, by the names of their fields.
const LISTS: [(&str, &[&str]); 4] = [
    ("Car", &["panels"]),
    ("Routine", &["steps", "sundries", "tools"]),
    ("Offer", &["breaks"]),
    ("Order", &["lines"]),
];
/// The field by which a message says how far its clock is from UTC.
const OFFSET: &str = "utc_offset_s";

/// A list and the columns of what it holds.
pub(crate) struct List {
    /// The list.
    pub(crate) field: FieldDescriptor,
    /// Its columns.
    pub(crate) columns: Vec<Column>,
}

/// How messages of a kind become lines.
pub(crate) struct Rows<M> {
    /// Columns that are no fields of the message and stand first; they are a part of the key where there are
    /// lists.
    pub(crate) before: Vec<&'static str>,
    /// Field that is the key.
    pub(crate) key: String,
    /// Columns of the message itself.
    pub(crate) own: Vec<Column>,
    /// What it holds in lists.
    pub(crate) lists: Vec<List>,
    of: PhantomData<M>,
}

impl<M: Message + Name> Rows<M> {
    /// With every column.
    ///
    /// # Errors
    /// When the contract cannot be read.
    pub(crate) fn whole() -> Result<Self, Fault> {
        Self::with(&|_| true)
    }

    /// With the columns that are wanted; its first field is the key.
    ///
    /// # Errors
    /// When the contract cannot be read.
    pub(crate) fn with(wanted: &dyn Fn(&Column) -> bool) -> Result<Self, Fault> {
        let message = json::descriptor::<M>()?;
        let names = LISTS.iter().find(|(of, _)| *of == message.name());
        let names = names.map_or(&[][..], |(_, names)| names);
        let mut lists = Vec::new();
        for name in names {
            let field = message.get_field_by_name(name);
            let field = field.ok_or_else(|| Fault::answer("a list of the contract"))?;
            if let Kind::Message(inner) = field.kind() {
                let columns = super::of(&inner, &format!("{name}."), wanted);
                lists.push(List { field, columns });
            }
        }
        let key = message.fields().next();
        Ok(Self {
            before: Vec::new(),
            key: key.map_or_else(String::new, |key| key.name().to_owned()),
            own: super::of(&message, "", wanted),
            lists,
            of: PhantomData,
        })
    }

    /// With columns of its own before those of the message.
    pub(crate) fn led_by(mut self, before: &[&'static str]) -> Self {
        self.before = before.to_vec();
        self
    }

    /// Names of all columns, in order.
    pub(crate) fn names(&self) -> Vec<&str> {
        let before = self.before.iter().copied();
        let own = self.own.iter().map(|column| column.name.as_str());
        let listed = self.lists.iter().flat_map(|list| &list.columns);
        let listed = listed.map(|column| column.name.as_str());
        before.chain(own).chain(listed).collect()
    }

    /// The header row.
    pub(crate) fn header(&self) -> Vec<Cell> {
        self.names().into_iter().map(Cell::from).collect()
    }

    /// The lines of one message with the cells before it, times as a clock in that zone shows them; a message
    /// that says its offset from UTC tells them by that.
    ///
    /// # Errors
    /// When it cannot be read.
    pub(crate) fn lines(
        &self,
        before: &[Cell],
        message: &M,
        zone: &TimeZone,
    ) -> Result<Vec<Vec<Cell>>, Fault> {
        let message = json::dynamic(message)?;
        let own_zone = offset_of(&message).and_then(zone_of);
        let zone = own_zone.as_ref().unwrap_or(zone);
        let lists: Vec<Vec<DynamicMessage>> =
            self.lists.iter().map(|list| held(list, &message)).collect();
        let count = lists.iter().map(Vec::len).max().unwrap_or(0).max(1);
        let line = |number: usize| {
            let own = self.own.iter().map(|column| {
                if number == 0 || column.name == self.key {
                    column.told(&message, zone)
                } else {
                    Cell::default()
                }
            });
            let listed = self.lists.iter().zip(&lists).flat_map(|(list, items)| {
                let item = items.get(number);
                list.columns.iter().map(move |column| {
                    item.map_or_else(Cell::default, |item| column.told(item, zone))
                })
            });
            before.iter().cloned().chain(own).chain(listed).collect()
        };
        Ok((0..count).map(line).collect())
    }
}

/// How far a message says that its clock is from UTC.
fn offset_of(message: &DynamicMessage) -> Option<i64> {
    message.get_field_by_name(OFFSET)?.as_i64()
}

/// What a message holds in a list.
fn held(list: &List, message: &DynamicMessage) -> Vec<DynamicMessage> {
    let value = message.get_field(&list.field);
    let items = value.as_list().unwrap_or_default();
    items
        .iter()
        .filter_map(|item| item.as_message().cloned())
        .collect()
}
