//! A list of messages as a file: one line each, and further lines for what they hold in lists.
//!
//! It is written and read by the columns that are wanted; the others that the contract has, such as what the
//! service works out, may be there and are passed over.

use jiff::tz::TimeZone;
use prost::{Message, Name};
use prost_reflect::{DynamicMessage, Kind, Value};

use super::Read;
use super::table::{Columns, Row, Source};
use crate::columns::{Cell, Column, Decimals, Rows};
use crate::fault::Fault;
use crate::json;
use crate::render::csv;

/// The sheet of a message.
pub(super) struct Sheet<M> {
    rows: Rows<M>,
    /// Columns of the contract that are not taken over.
    passed_over: Vec<String>,
}

/// What was read of one message: the cells before it, and itself.
pub(super) type Led<M> = (Vec<String>, M);

impl<M: Message + Name + Default> Sheet<M> {
    /// The sheet with the columns whose names are wanted.
    ///
    /// # Errors
    /// When the contract cannot be read.
    pub(super) fn new(wanted: impl Fn(&str) -> bool) -> Result<Self, Fault> {
        let is_taken = |column: &Column| column.is_read_in() && wanted(&column.name);
        let others = Rows::<M>::with(&|column| !is_taken(column))?;
        Ok(Self {
            rows: Rows::with(&is_taken)?,
            passed_over: others.names().into_iter().map(str::to_owned).collect(),
        })
    }

    /// The sheet with columns of its own before those of the message.
    pub(super) fn led_by(mut self, before: &[&'static str]) -> Self {
        self.rows = self.rows.led_by(before);
        self.passed_over
            .retain(|name| !before.contains(&name.as_str()));
        self
    }

    /// Names of all columns, in order.
    #[cfg(test)]
    pub(super) fn names(&self) -> Vec<&str> {
        self.rows.names()
    }

    /// The file of messages.
    ///
    /// # Errors
    /// When one cannot be written.
    pub(super) fn written(&self, messages: &[M], decimals: Decimals) -> Result<String, Fault> {
        let messages = messages.iter().map(|message| (Vec::new(), message));
        self.written_led(messages, decimals)
    }

    /// The file of messages, each with the cells that stand before it.
    ///
    /// # Errors
    /// When one cannot be written.
    pub(super) fn written_led<'a>(
        &self,
        messages: impl IntoIterator<Item = (Vec<Cell>, &'a M)>,
        decimals: Decimals,
    ) -> Result<String, Fault>
    where
        M: 'a,
    {
        // No time stands in a file but a start, which goes by its own offset.
        csv::table_of(&self.rows, messages, &TimeZone::UTC, decimals)
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
        let wanted = self.rows.names();
        let mut needed = vec![self.rows.key.as_str()];
        if !self.rows.lists.is_empty() {
            needed.extend(&self.rows.before);
        }
        let columns = Columns {
            wanted: &wanted,
            needed: &needed,
            passed_over: &self.passed_over,
        };
        let (rows, decimals) = source.rows(file, &columns)?;
        let mut read: Vec<Begun> = Vec::new();
        for row in &rows {
            let key = self.key_of(row);
            if key.iter().any(String::is_empty) {
                let text = "The cell is empty; every line begins with its id.".to_owned();
                source.wrong(file, row.line, &self.rows.key, text);
                continue;
            }
            let known = read.iter().position(|begun| begun.key == key);
            match known.and_then(|at| read.get_mut(at)) {
                None => {
                    let mut begun = Begun {
                        key,
                        line: row.line,
                        within: vec![Vec::new(); self.rows.lists.len()],
                        before: row
                            .cells
                            .iter()
                            .take(self.rows.before.len())
                            .cloned()
                            .collect(),
                        message: DynamicMessage::new(json::descriptor::<M>()?),
                    };
                    self.put_own(source, (file, decimals), row, &mut begun.message);
                    self.put_listed(source, (file, decimals), row, &mut begun);
                    read.push(begun);
                }
                Some(_) if self.rows.lists.is_empty() => {
                    let text = format!("{} is there twice.", key.join(" "));
                    source.wrong(file, row.line, &self.rows.key, text);
                }
                Some(begun) => {
                    self.refuse_own(source, file, row);
                    self.put_listed(source, (file, decimals), row, begun);
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
        let before = if self.rows.lists.is_empty() {
            0
        } else {
            self.rows.before.len()
        };
        let own = self
            .rows
            .own
            .iter()
            .zip(row.cells.iter().skip(self.rows.before.len()));
        let key = own.filter(|(column, _)| column.name == self.rows.key);
        let before = row.cells.iter().take(before);
        before.chain(key.map(|(_, cell)| cell)).cloned().collect()
    }

    /// Puts the cells of the message itself.
    fn put_own(
        &self,
        source: &mut Source,
        (file, decimals): (&str, Decimals),
        row: &Row,
        message: &mut DynamicMessage,
    ) {
        let cells = row.cells.iter().skip(self.rows.before.len());
        let cells: Vec<_> = self.rows.own.iter().zip(cells).collect();
        put(source, (file, row.line, decimals), &cells, message);
    }

    /// Adds what a line holds of each list.
    fn put_listed(
        &self,
        source: &mut Source,
        (file, decimals): (&str, Decimals),
        row: &Row,
        begun: &mut Begun,
    ) {
        let mut cells = row
            .cells
            .iter()
            .skip(self.rows.before.len() + self.rows.own.len());
        for (list, lines) in self.rows.lists.iter().zip(&mut begun.within) {
            let cells: Vec<_> = list.columns.iter().zip(cells.by_ref()).collect();
            if cells.iter().all(|(_, cell)| cell.is_empty()) {
                continue;
            }
            let Kind::Message(inner) = list.field.kind() else {
                continue;
            };
            let mut item = DynamicMessage::new(inner);
            put(source, (file, row.line, decimals), &cells, &mut item);
            if let Value::List(items) = begun.message.get_field_mut(&list.field) {
                items.push(Value::Message(item));
                lines.push(row.line);
            }
        }
    }

    /// A further line holds nothing of the message itself.
    fn refuse_own(&self, source: &mut Source, file: &str, row: &Row) {
        let cells = row.cells.iter().skip(self.rows.before.len());
        for (column, cell) in self.rows.own.iter().zip(cells) {
            if column.name != self.rows.key && !cell.is_empty() {
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

/// Puts cells that are not empty; a sum of money is there whole or not at all.
fn put(
    source: &mut Source,
    (file, line, decimals): (&str, i64, Decimals),
    cells: &[(&Column, &String)],
    message: &mut DynamicMessage,
) {
    for (column, cell) in cells {
        if !cell.is_empty() {
            if let Err(text) = column.put(message, cell, decimals) {
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
