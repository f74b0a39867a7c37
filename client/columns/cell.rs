//! One field of a message as one cell, and back.
//!
//! A cell that is unclear is never guessed at; the sentence says what it may be.

use jiff::tz::{Offset, TimeZone};
use prost_reflect::{
    DynamicMessage, EnumDescriptor, FieldDescriptor, Kind, MessageDescriptor, Value,
};

/// Letters of a cell that a sentence repeats.
const CELL_SHOWN: usize = 40;
/// What stands between the words of a list in one cell.
const BETWEEN: &str = " ";
/// What the contract calls the value of an enum that says nothing.
const ZERO: &str = "UNSPECIFIED";
const YES: &str = "yes";
const NO: &str = "no";

/// What stands in a list or file of values.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Cell {
    /// Words; where a spreadsheet would take them for a formula they are guarded.
    Text(String),
    /// A number, with a point before its decimals.
    Number(String),
}

impl Default for Cell {
    fn default() -> Self {
        Self::Text(String::new())
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        Self::Text(text)
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

impl From<i64> for Cell {
    fn from(number: i64) -> Self {
        Self::Number(number.to_string())
    }
}

impl Cell {
    /// What it says, with a point before decimals.
    pub(crate) fn text(&self) -> &str {
        match self {
            Self::Text(text) | Self::Number(text) => text,
        }
    }

    /// Text that is digits, perhaps with a sign and decimals, as a number.
    pub(super) fn into_number(self) -> Self {
        match self {
            Self::Text(text) if is_decimal(text.strip_prefix('-').unwrap_or(&text), '.') => {
                Self::Number(text)
            }
            other => other,
        }
    }
}

/// What stands before decimals, and with it between the cells of a line.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Decimals {
    /// A point; commas between cells.
    #[default]
    Point,
    /// A comma; semicolons between cells.
    Comma,
}

impl Decimals {
    /// What stands before decimals.
    const fn sign(self) -> char {
        match self {
            Self::Point => '.',
            Self::Comma => ',',
        }
    }
}

/// A value as a cell, times as a clock in that zone shows them; what is not said is empty.
pub(super) fn told(field: &FieldDescriptor, value: &Value, zone: &TimeZone) -> Cell {
    match value {
        Value::List(items) if matches!(items.first(), Some(Value::Message(_))) => {
            let items: Vec<&DynamicMessage> = items.iter().filter_map(Value::as_message).collect();
            serde_json::to_string(&items).map_or_else(|_| Cell::default(), Cell::Text)
        }
        Value::List(items) => {
            let cells: Vec<Cell> = items.iter().map(|item| told(field, item, zone)).collect();
            let texts: Vec<&str> = cells.iter().map(Cell::text).collect();
            let text = texts.join(BETWEEN);
            if matches!(cells.first(), Some(Cell::Number(_))) {
                Cell::Number(text)
            } else {
                Cell::Text(text)
            }
        }
        Value::Bool(true) => YES.into(),
        Value::String(text) => Cell::Text(text.clone()),
        Value::I32(number) => i64::from(*number).into(),
        Value::I64(number) => (*number).into(),
        Value::F64(number) if number.is_finite() => Cell::Number(number.to_string()),
        Value::EnumNumber(number) => enum_of(field)
            .and_then(|kind| word(&kind, *number))
            .map_or_else(Cell::default, Cell::Text),
        Value::Message(stamp) => time(stamp, zone).map_or_else(Cell::default, Cell::Text),
        _ => Cell::default(),
    }
}

/// A moment as a message.
fn time(stamp: &DynamicMessage, zone: &TimeZone) -> Option<String> {
    let seconds = stamp.get_field_by_name("seconds")?.as_i64()?;
    let nanos = stamp.get_field_by_name("nanos")?.as_i32()?;
    clock(seconds, nanos, zone)
}

/// A moment on a clock in that zone, with its offset from UTC: `2026-11-26T08:00:00+01:00`.
pub(crate) fn clock(seconds: i64, nanos: i32, zone: &TimeZone) -> Option<String> {
    let moment = jiff::Timestamp::new(seconds, nanos).ok()?;
    let local = moment.to_zoned_datetime(zone.clone());
    Some(local.strftime("%Y-%m-%dT%H:%M:%S%:z").to_string())
}

/// The zone of what says how far its clock is from UTC.
pub(crate) fn zone_of(offset_s: i64) -> Option<TimeZone> {
    let offset = Offset::from_seconds(i32::try_from(offset_s).ok()?).ok()?;
    Some(TimeZone::fixed(offset))
}

/// The value of a cell that is not empty.
///
/// # Errors
/// A sentence that says what the cell may be.
pub(super) fn read(field: &FieldDescriptor, cell: &str) -> Result<Value, String> {
    if let (true, Kind::Message(kind)) = (field.is_list(), field.kind()) {
        return listed(&kind, cell);
    }
    if field.is_list() {
        let items = cell.split_whitespace().map(|item| one(field, item));
        return items.collect::<Result<_, _>>().map(Value::List);
    }
    one(field, cell)
}

/// Messages in one cell, as JSON in the contract's names.
fn listed(kind: &MessageDescriptor, cell: &str) -> Result<Value, String> {
    let refused = |why: &dyn std::fmt::Display| {
        format!("'{}' is no list as it is exported: {why}.", excerpt(cell))
    };
    let items: Vec<serde_json::Value> =
        serde_json::from_str(cell).map_err(|error| refused(&error))?;
    let items = items.into_iter().map(|item| {
        let message = DynamicMessage::deserialize(kind.clone(), item);
        message.map(Value::Message).map_err(|error| refused(&error))
    });
    items.collect::<Result<_, _>>().map(Value::List)
}

fn one(field: &FieldDescriptor, cell: &str) -> Result<Value, String> {
    match field.kind() {
        Kind::Bool => match cell.trim() {
            YES => Ok(Value::Bool(true)),
            NO => Ok(Value::Bool(false)),
            _ => Err(format!("'{}' is not {YES} or {NO}.", excerpt(cell))),
        },
        Kind::Int64 => whole(cell).map(Value::I64),
        Kind::Int32 => whole(cell)
            .and_then(|number| i32::try_from(number).map_err(|_| not_whole(cell)))
            .map(Value::I32),
        Kind::Enum(kind) => number(&kind, cell.trim())
            .map(Value::EnumNumber)
            .ok_or_else(|| {
                let words = words(&kind).map(|(word, _)| word);
                let words = words.collect::<Vec<_>>().join(", ");
                format!("'{}' is not one of {words}.", excerpt(cell))
            }),
        _ => Ok(Value::String(cell.to_owned())),
    }
}

/// A whole number, as it is counted; no thousands mark and no decimals.
fn whole(cell: &str) -> Result<i64, String> {
    let text = cell.trim();
    let digits = text.strip_prefix('-').unwrap_or(text);
    let plain = !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit());
    text.parse()
        .ok()
        .filter(|_| plain)
        .ok_or_else(|| not_whole(cell))
}

fn not_whole(cell: &str) -> String {
    format!(
        "'{}' is not a whole number such as 12, without a unit or a thousands mark.",
        excerpt(cell)
    )
}

/// A decimal amount of money, `18.90`, with a point before its decimals however it was written.
///
/// # Errors
/// A sentence that says how it is written.
pub(super) fn amount(cell: &str, decimals: Decimals) -> Result<String, String> {
    decimal(cell, decimals).ok_or_else(|| {
        let (sign, example) = match decimals {
            Decimals::Point => ("a point", "18.90"),
            Decimals::Comma => ("a comma", "18,90"),
        };
        format!(
            "'{}' is not an amount such as {example}, with {sign} and no thousands mark.",
            excerpt(cell)
        )
    })
}

/// A number below which nothing can be, with a point before its decimals; nothing where it is none. Where commas
/// stand before decimals a point may too, but before three digits: that may be thousands.
pub(crate) fn decimal(cell: &str, decimals: Decimals) -> Option<String> {
    if is_decimal(cell, decimals.sign()) {
        return Some(cell.replace(decimals.sign(), "."));
    }
    let (_, part) = cell.split_once('.')?;
    let is_plain = decimals == Decimals::Comma && part.len() != 3 && is_decimal(cell, '.');
    is_plain.then(|| cell.to_owned())
}

/// Digits, perhaps with a sign before further ones.
fn is_decimal(text: &str, sign: char) -> bool {
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    let (whole, part) = text.split_once(sign).unwrap_or((text, "0"));
    digits(whole) && digits(part)
}

/// A code of a currency, `EUR`.
///
/// # Errors
/// A sentence that says how it is written.
pub(super) fn currency(cell: &str) -> Result<(), String> {
    if cell.len() == 3 && cell.bytes().all(|byte| byte.is_ascii_uppercase()) {
        return Ok(());
    }
    Err(format!(
        "'{}' is not a currency by its ISO 4217 code, such as EUR.",
        excerpt(cell)
    ))
}

fn enum_of(field: &FieldDescriptor) -> Option<EnumDescriptor> {
    match field.kind() {
        Kind::Enum(kind) => Some(kind),
        _ => None,
    }
}

/// The words of an enum as the client says them everywhere, all but "unspecified".
fn words(kind: &EnumDescriptor) -> impl Iterator<Item = (String, i32)> {
    let zero = kind.default_value();
    let prefix = zero.name().trim_end_matches(ZERO).to_owned();
    let values: Vec<_> = kind.values().filter(|value| value.number() != 0).collect();
    values.into_iter().map(move |value| {
        let name = value.name();
        let bare = name.strip_prefix(&prefix).unwrap_or(name);
        (bare.to_lowercase().replace('_', "-"), value.number())
    })
}

fn word(kind: &EnumDescriptor, number: i32) -> Option<String> {
    words(kind).find_map(|(word, of)| (of == number).then_some(word))
}

fn number(kind: &EnumDescriptor, text: &str) -> Option<i32> {
    let zero = kind.default_value();
    let known: Vec<_> = words(kind).collect();
    crate::word::number(zero.name().trim_end_matches(ZERO), &known, text)
}

/// The beginning of a cell, for a sentence.
pub(crate) fn excerpt(cell: &str) -> String {
    let mut letters = cell.chars();
    let shown: String = letters.by_ref().take(CELL_SHOWN).collect();
    if letters.next().is_some() {
        format!("{shown}…")
    } else {
        shown
    }
}
