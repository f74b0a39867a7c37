//! One field of a message as one cell, and back.
//!
//! It serves the columns. A cell that is unclear is never guessed at; the sentence says what it may be.

use prost_reflect::{EnumDescriptor, FieldDescriptor, Kind, Value};

/// Letters of a cell that a sentence repeats.
const CELL_SHOWN: usize = 40;
/// What stands between the words of a list in one cell.
const BETWEEN: &str = " ";
/// What the contract calls the value of an enum that says nothing.
const ZERO: &str = "UNSPECIFIED";
const YES: &str = "yes";
const NO: &str = "no";

/// A value as a cell; what is not said is empty.
pub(super) fn told(field: &FieldDescriptor, value: &Value) -> String {
    match value {
        Value::List(items) => {
            let cells = items.iter().map(|item| told(field, item));
            cells.collect::<Vec<_>>().join(BETWEEN)
        }
        Value::Bool(true) => YES.to_owned(),
        Value::String(text) => text.clone(),
        Value::I32(number) => number.to_string(),
        Value::I64(number) => number.to_string(),
        Value::EnumNumber(number) => enum_of(field)
            .and_then(|kind| word(&kind, *number))
            .unwrap_or_default(),
        _ => String::new(),
    }
}

/// The value of a cell that is not empty.
///
/// # Errors
/// A sentence that says what the cell may be.
pub(super) fn read(field: &FieldDescriptor, cell: &str) -> Result<Value, String> {
    if field.is_list() {
        let items = cell.split_whitespace().map(|item| one(field, item));
        return items.collect::<Result<_, _>>().map(Value::List);
    }
    one(field, cell)
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

/// A decimal amount of money, `18.90`.
///
/// # Errors
/// A sentence that says how it is written.
pub(super) fn amount(cell: &str) -> Result<(), String> {
    let (whole, part) = cell.split_once('.').unwrap_or((cell, "0"));
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    if digits(whole) && digits(part) {
        return Ok(());
    }
    Err(format!(
        "'{}' is not an amount such as 18.90, with a point and no thousands mark.",
        excerpt(cell)
    ))
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
pub(super) fn excerpt(cell: &str) -> String {
    let mut letters = cell.chars();
    let shown: String = letters.by_ref().take(CELL_SHOWN).collect();
    if letters.next().is_some() {
        format!("{shown}…")
    } else {
        shown
    }
}
