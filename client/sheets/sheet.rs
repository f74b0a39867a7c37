//! A list of messages as a sheet: one line each, and further lines for what they hold in lists.
//!
//! It serves the files. The first cells of every line are the key; a further line of the same key
//! repeats it and holds the next of each list, and nothing else.

use std::marker::PhantomData;

use prost::{Message, Name};
use prost_reflect::{DynamicMessage, FieldDescriptor, Kind, Value};

use super::Read;
use super::columns::{self, Column};
use super::table::{Row, Source};
use crate::fault::Fault;
use crate::json;
use crate::render::csv;

/// A list within a message that is told in further lines.
#[derive(Clone, Copy, Debug)]
pub(super) struct Within(&'static str);

impl Within {
    /// By the name of its field.
    pub(super) const fn list(field: &'static str) -> Self {
        Self(field)
    }
}

/// A list and the columns of what it holds.
struct List {
    field: FieldDescriptor,
    columns: Vec<Column>,
}

/// The sheet of a message.
pub(super) struct Sheet<M> {
    /// Columns that are no fields of the message and stand first; they are a part of the key when
    /// there are lists.
    before: Vec<&'static str>,
    /// Field that is the key.
    key: &'static str,
    own: Vec<Column>,
    lists: Vec<List>,
    of: PhantomData<M>,
}

/// What was read of one message: the cells before it, and itself.
pub(super) type Led<M> = (Vec<String>, M);

impl<M: Message + Name + Default> Sheet<M> {
    /// The sheet with the columns whose names are wanted.
    ///
    /// # Errors
    /// When the contract cannot be read.
    pub(super) fn new(
        key: &'static str,
        lists: &[Within],
        wanted: impl Fn(&str) -> bool,
    ) -> Result<Self, Fault> {
        let message = json::descriptor::<M>()?;
        let mut within = Vec::new();
        for Within(name) in lists {
            let field = message.get_field_by_name(name);
            let field = field.ok_or_else(|| Fault::answer("a list of the contract"))?;
            if let Kind::Message(inner) = field.kind() {
                let columns = columns::of(&inner, &format!("{name}."), &wanted);
                within.push(List { field, columns });
            }
        }
        Ok(Self {
            before: Vec::new(),
            key,
            own: columns::of(&message, "", &wanted),
            lists: within,
            of: PhantomData,
        })
    }

    /// The sheet with columns of its own before those of the message.
    pub(super) fn led_by(mut self, before: &[&'static str]) -> Self {
        self.before = before.to_vec();
        self
    }

    /// Names of all columns, in order.
    pub(super) fn names(&self) -> Vec<&str> {
        let before = self.before.iter().copied();
        let own = self.own.iter().map(|column| column.name.as_str());
        let listed = self.lists.iter().flat_map(|list| &list.columns);
        let listed = listed.map(|column| column.name.as_str());
        before.chain(own).chain(listed).collect()
    }

    /// The file of messages.
    ///
    /// # Errors
    /// When one cannot be written.
    pub(super) fn written(&self, messages: &[M]) -> Result<String, Fault> {
        self.written_led(messages.iter().map(|message| (Vec::new(), message)))
    }

    /// The file of messages, each with the cells that stand before it.
    ///
    /// # Errors
    /// When one cannot be written.
    pub(super) fn written_led<'a>(
        &self,
        messages: impl IntoIterator<Item = (Vec<String>, &'a M)>,
    ) -> Result<String, Fault>
    where
        M: 'a,
    {
        let header = self.names().into_iter().map(str::to_owned).collect();
        let mut records: Vec<Vec<String>> = vec![header];
        for (before, message) in messages {
            let message = json::dynamic(message)?;
            records.extend(self.lines(&before, &message));
        }
        csv::written(&records)
    }

    /// The lines of one message.
    fn lines(&self, before: &[String], message: &DynamicMessage) -> Vec<Vec<String>> {
        let lists: Vec<Vec<DynamicMessage>> =
            self.lists.iter().map(|list| held(list, message)).collect();
        let count = lists.iter().map(Vec::len).max().unwrap_or(0).max(1);
        let line = |number: usize| {
            let own = self.own.iter().map(|column| {
                if number == 0 || column.name == self.key {
                    column.told(message)
                } else {
                    String::new()
                }
            });
            let listed = self.lists.iter().zip(&lists).flat_map(|(list, items)| {
                let item = items.get(number);
                list.columns
                    .iter()
                    .map(move |column| item.map_or_else(String::new, |item| column.told(item)))
            });
            before.iter().cloned().chain(own).chain(listed).collect()
        };
        (0..count).map(line).collect()
    }

    /// Reads the file of that name; what is wrong is kept at the source.
    ///
    /// # Errors
    /// When it cannot be read at all.
    pub(super) fn read(&self, source: &mut Source, file: &str) -> Result<Vec<Read<M>>, Fault> {
        let led = self.read_led(source, file)?;
        let bare = led.into_iter();
        Ok(bare
            .map(|read| read.turned(|(_, message)| message))
            .collect())
    }

    /// Reads the file of that name with the cells before each message.
    ///
    /// # Errors
    /// When it cannot be read at all.
    pub(super) fn read_led(
        &self,
        source: &mut Source,
        file: &str,
    ) -> Result<Vec<Read<Led<M>>>, Fault> {
        let names = self.names();
        let mut needed = vec![self.key];
        if !self.lists.is_empty() {
            needed.extend(&self.before);
        }
        let rows = source.rows(file, &names, &needed)?;
        let mut read: Vec<Begun> = Vec::new();
        for row in &rows {
            let key = self.key_of(row);
            if key.iter().any(String::is_empty) {
                let text = "The cell is empty; every line begins with its id.".to_owned();
                source.wrong(file, row.line, self.key, text);
                continue;
            }
            let known = read.iter().position(|begun| begun.key == key);
            match known.and_then(|at| read.get_mut(at)) {
                None => {
                    let mut begun = Begun {
                        key,
                        line: row.line,
                        within: vec![Vec::new(); self.lists.len()],
                        before: row.cells.iter().take(self.before.len()).cloned().collect(),
                        message: DynamicMessage::new(json::descriptor::<M>()?),
                    };
                    self.put_own(source, file, row, &mut begun.message);
                    self.put_listed(source, file, row, &mut begun);
                    read.push(begun);
                }
                Some(_) if self.lists.is_empty() => {
                    let text = format!("{} is there twice.", key.join(" "));
                    source.wrong(file, row.line, self.key, text);
                }
                Some(begun) => {
                    self.refuse_own(source, file, row);
                    self.put_listed(source, file, row, begun);
                }
            }
        }
        let messages = read.into_iter().map(|begun| {
            let message = begun.message.transcode_to::<M>();
            message
                .map(|message| Read {
                    line: begun.line,
                    within: begun.within,
                    what: (begun.before, message),
                })
                .map_err(|_| Fault::answer("a message that can be read back"))
        });
        messages.collect()
    }

    /// The cells that say which message a line is of.
    fn key_of(&self, row: &Row) -> Vec<String> {
        let before = if self.lists.is_empty() {
            0
        } else {
            self.before.len()
        };
        let own = self
            .own
            .iter()
            .zip(row.cells.iter().skip(self.before.len()));
        let key = own.filter(|(column, _)| column.name == self.key);
        let before = row.cells.iter().take(before);
        before.chain(key.map(|(_, cell)| cell)).cloned().collect()
    }

    /// Puts the cells of the message itself.
    fn put_own(&self, source: &mut Source, file: &str, row: &Row, message: &mut DynamicMessage) {
        let cells = row.cells.iter().skip(self.before.len());
        let cells: Vec<_> = self.own.iter().zip(cells).collect();
        put(source, (file, row.line), &cells, message);
    }

    /// Adds what a line holds of each list.
    fn put_listed(&self, source: &mut Source, file: &str, row: &Row, begun: &mut Begun) {
        let mut cells = row.cells.iter().skip(self.before.len() + self.own.len());
        for (list, lines) in self.lists.iter().zip(&mut begun.within) {
            let cells: Vec<_> = list.columns.iter().zip(cells.by_ref()).collect();
            if cells.iter().all(|(_, cell)| cell.is_empty()) {
                continue;
            }
            let Kind::Message(inner) = list.field.kind() else {
                continue;
            };
            let mut item = DynamicMessage::new(inner);
            put(source, (file, row.line), &cells, &mut item);
            if let Value::List(items) = begun.message.get_field_mut(&list.field) {
                items.push(Value::Message(item));
                lines.push(row.line);
            }
        }
    }

    /// A further line holds nothing of the message itself.
    fn refuse_own(&self, source: &mut Source, file: &str, row: &Row) {
        let cells = row.cells.iter().skip(self.before.len());
        for (column, cell) in self.own.iter().zip(cells) {
            if column.name != self.key && !cell.is_empty() {
                let text = "A further line of the same id holds the next of its list only; leave the \
                            cell empty.";
                source.wrong(file, row.line, &column.name, text.to_owned());
            }
        }
    }
}

/// A message while its lines are read.
struct Begun {
    key: Vec<String>,
    line: i64,
    within: Vec<Vec<i64>>,
    before: Vec<String>,
    message: DynamicMessage,
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

/// Puts cells that are not empty; a sum of money is there whole or not at all.
fn put(
    source: &mut Source,
    (file, line): (&str, i64),
    cells: &[(&Column, &String)],
    message: &mut DynamicMessage,
) {
    for (column, cell) in cells {
        if !cell.is_empty() {
            if let Err(text) = column.put(message, cell) {
                source.wrong(file, line, &column.name, text);
            }
            continue;
        }
        let half = column.name.ends_with(".amount") || column.name.ends_with(".currency_code");
        let other = cells.iter().find(|(other, text)| {
            let same = other.part_of() == column.part_of();
            same && other.name != column.name && !text.is_empty()
        });
        if let (true, Some((other, _))) = (half, other) {
            let text = format!("It is empty beside {}; give both or neither.", other.name);
            source.wrong(file, line, &column.name, text);
        }
    }
}
