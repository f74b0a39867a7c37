//! The bytes of an entry for whoever may not see prices, with what a later program put into it.
//!
//! Invariant: a member that this program does not know stays, unless there is money in it. Money is
//! written as one object with `amount` and `currency` wherever it stands, so that it can be told
//! from what a member is named.

use serde::Serialize;
use serde_json::{Map, Value};

use crate::book::deed::{Deed, Entry};
use crate::book::format::Unread;

impl Entry {
    /// The bytes of an entry object without prices, suppliers and orders, given as the journal has
    /// them.
    ///
    /// # Errors
    /// When they are not read here.
    pub fn bytes_without_prices(bytes: &[u8]) -> Result<Vec<u8>, Unread> {
        let entry = Self::read(bytes)?;
        let hidden = entry.without_prices();
        if written(&entry)? == bytes {
            return written(&hidden);
        }
        let read: Map<String, Value> = serde_json::from_slice(bytes).map_err(spoilt)?;
        let left = left(read, &entry, &hidden)?;
        // The number stays the first member.
        let mut out = format!("{{\"seq\":{}", entry.seq).into_bytes();
        for (name, value) in left.iter().filter(|(name, _)| *name != "seq") {
            out.push(b',');
            out.extend(written(name)?);
            out.push(b':');
            out.extend(written(value)?);
        }
        out.push(b'}');
        Ok(out)
    }
}

/// What is left of an entry's members.
fn left(
    mut read: Map<String, Value>,
    entry: &Entry,
    hidden: &Entry,
) -> Result<Map<String, Value>, Unread> {
    let deeds = read.remove("deeds");
    let flags = read.remove("flags");
    let mut left = members(read, &object(entry)?, &object(hidden)?);
    let mut kept = Vec::new();
    for (read, deed) in rows(deeds).into_iter().zip(&entry.deeds) {
        if let Some(hidden) = deed.without_prices() {
            kept.push(value(read, &tree(deed)?, &tree::<Deed>(&hidden)?));
        }
    }
    left.insert("deeds".to_owned(), Value::Array(kept));
    let shown = rows(flags).into_iter().zip(&entry.flags);
    let shown = shown.filter(|(_, flag)| hidden.flags.contains(flag));
    let flags: Vec<Value> = shown.map(|(read, _)| without_money(read)).collect();
    if !flags.is_empty() {
        left.insert("flags".to_owned(), Value::Array(flags));
    }
    Ok(left)
}

/// What is left of a value: what is `hidden` of what is `known` goes, and what is not known stays.
fn value(read: Value, known: &Value, hidden: &Value) -> Value {
    match (read, known, hidden) {
        (Value::Object(read), Value::Object(known), Value::Object(hidden)) => {
            Value::Object(members(read, known, hidden))
        }
        (Value::Array(read), Value::Array(known), Value::Array(hidden))
            if read.len() == known.len() && known.len() == hidden.len() =>
        {
            let rows = read.into_iter().zip(known.iter().zip(hidden));
            rows.map(|(read, (known, hidden))| value(read, known, hidden))
                .collect()
        }
        _ => hidden.clone(),
    }
}

fn members(
    read: Map<String, Value>,
    known: &Map<String, Value>,
    hidden: &Map<String, Value>,
) -> Map<String, Value> {
    let left = read.into_iter().filter_map(|(name, read)| {
        let left = match (known.get(&name), hidden.get(&name)) {
            (Some(known), Some(hidden)) => value(read, known, hidden),
            (Some(_), None) => return None,
            (None, _) => Some(read).filter(|read| !holds_money(read))?,
        };
        Some((name, left))
    });
    left.collect()
}

/// A value whose members are all shown, without those that hold money.
fn without_money(read: Value) -> Value {
    match read {
        Value::Object(members) => members
            .into_iter()
            .filter(|(_, value)| !holds_money(value))
            .collect(),
        other => other,
    }
}

fn holds_money(value: &Value) -> bool {
    match value {
        Value::Object(members) => {
            let is_money = members.contains_key("amount") && members.contains_key("currency");
            is_money || members.values().any(holds_money)
        }
        Value::Array(rows) => rows.iter().any(holds_money),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => false,
    }
}

fn rows(value: Option<Value>) -> Vec<Value> {
    match value {
        Some(Value::Array(rows)) => rows,
        _ => Vec::new(),
    }
}

fn object<T: Serialize>(of: &T) -> Result<Map<String, Value>, Unread> {
    match tree(of)? {
        Value::Object(members) => Ok(members),
        _ => Ok(Map::new()),
    }
}

fn tree<T: Serialize>(of: &T) -> Result<Value, Unread> {
    serde_json::to_value(of).map_err(spoilt)
}

fn written<T: Serialize + ?Sized>(of: &T) -> Result<Vec<u8>, Unread> {
    serde_json::to_vec(of).map_err(spoilt)
}

#[allow(
    clippy::needless_pass_by_value,
    reason = "it is what `map_err` hands over"
)]
fn spoilt(error: serde_json::Error) -> Unread {
    Unread::Spoilt(error.to_string())
}
