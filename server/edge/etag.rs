//! Etags: what tells an editor that a thing was changed since it was read (AIP-154).
//!
//! An etag is opaque to clients. It holds a digest of each field that can be edited, so that a stale one
//! also tells which fields were changed; it is made of what is shown and kept nowhere.

use fettlebook_contract::v1::Standing;
use prost::{Message, Name};
use prost_reflect::{DynamicMessage, ReflectMessage as _, Value};
use sha2::{Digest, Sha256};

use super::reflected::{dynamic, editable, of_choice, standing};
use super::status::EdgeError;
use crate::limits::ETAG_DIGEST_BYTES;

/// Digits of one field in an etag.
const DIGITS: usize = ETAG_DIGEST_BYTES * 2;

/// The etag of a thing as it is shown; empty for what is not of the contract.
pub(super) fn of<M: Message + Name>(shown: &M) -> String {
    dynamic(shown).map_or_else(|_| String::new(), |shown| parts(&shown).concat())
}

/// Refuses an edit of what was changed since it was read. An etag that was not sent asks for nothing.
pub(super) fn hold(
    name: &str,
    held: &DynamicMessage,
    sent: &DynamicMessage,
) -> Result<(), EdgeError> {
    let read = sent.get_field_by_name("etag");
    let read = read.as_deref().and_then(Value::as_str).unwrap_or_default();
    let parts = parts(held);
    if read.is_empty() || read == parts.concat() {
        return Ok(());
    }
    let digests: Vec<&[u8]> = read.as_bytes().chunks(DIGITS).collect();
    // An etag of another length is of another sort, or of another version of the contract.
    let names = names(held);
    let told = digests.len() == names.len();
    let changed = names
        .into_iter()
        .zip(parts.iter().zip(digests))
        .filter(|(_, (is, was))| told && is.as_bytes() != *was);
    Err(EdgeError::Stale {
        what: format!("{name} {}", id(held)),
        changed: changed.map(|(name, _)| name).collect(),
    })
}

/// The id of a thing: the field that is settled when it is made.
fn id(held: &DynamicMessage) -> String {
    let settled = held
        .descriptor()
        .fields()
        .find(|field| standing(field) == Standing::Settled);
    let id = settled.map(|field| held.get_field(&field).into_owned());
    id.as_ref()
        .and_then(Value::as_str)
        .unwrap_or_default()
        .to_owned()
}

/// Every field that can be edited, by its path, with what it holds; nothing for one that is absent.
fn fields(held: &DynamicMessage) -> Vec<(String, Option<Value>)> {
    let mut found = Vec::new();
    for field in held.descriptor().fields().filter(editable) {
        let value = held.get_field(&field);
        match value.as_message() {
            Some(_) if of_choice(&field) && !held.has_field(&field) => {}
            Some(figures) if of_choice(&field) => {
                for figure in figures.descriptor().fields() {
                    let there = figures.has_field(&figure);
                    let value = there.then(|| figures.get_field(&figure).into_owned());
                    found.push((format!("{}.{}", field.name(), figure.name()), value));
                }
            }
            _ => {
                let value = held.has_field(&field).then(|| value.into_owned());
                found.push((field.name().to_owned(), value));
            }
        }
    }
    found
}

fn names(held: &DynamicMessage) -> Vec<String> {
    fields(held).into_iter().map(|(name, _)| name).collect()
}

/// The digest of each of these fields.
fn parts(held: &DynamicMessage) -> Vec<String> {
    let digests = fields(held).into_iter().map(|(_, value)| {
        let mut bytes = Vec::new();
        if let Some(value) = &value {
            write(value, &mut bytes);
        }
        let hash = Sha256::digest(bytes);
        data_encoding::HEXLOWER.encode(hash.get(..ETAG_DIGEST_BYTES).unwrap_or(&hash))
    });
    digests.collect()
}

/// A value as bytes that no other value of its field has.
fn write(value: &Value, bytes: &mut Vec<u8>) {
    match value {
        Value::Message(message) => bytes.extend(message.encode_length_delimited_to_vec()),
        Value::List(values) => values.iter().for_each(|value| write(value, bytes)),
        Value::String(text) => {
            bytes.extend(text.len().to_le_bytes());
            bytes.extend(text.bytes());
        }
        plain => bytes.extend(format!("{plain:?};").bytes()),
    }
}
