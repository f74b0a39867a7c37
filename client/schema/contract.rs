//! Schemas of the contract's messages, from their descriptors and with their comments.
//!
//! Source: protobuf documentation, "ProtoJSON Format". A member without presence is always written, one that
//! has it only where it is set, as the client's mapping does (`json.rs`).

use std::collections::HashMap;

use prost_reflect::{
    Cardinality, DescriptorPool, EnumDescriptor, FieldDescriptor, FileDescriptor, Kind,
    MessageDescriptor,
};
use serde_json::{Map, Value, json};

use super::shape::Members;
use crate::fault::Fault;

/// The package of the contract.
const PACKAGE: &str = "fettlebook.v1";

/// The contract, and the definitions of what was asked of it so far.
pub(super) struct Contract {
    pool: DescriptorPool,
    numbers: bool,
    definitions: Map<String, Value>,
    comments: HashMap<String, HashMap<Vec<i32>, String>>,
}

impl Contract {
    /// Reads it; with `numbers` every whole number is one.
    ///
    /// # Errors
    /// When it cannot be read.
    pub(super) fn read(numbers: bool) -> Result<Self, Fault> {
        let pool = DescriptorPool::decode(fettlebook_contract::DESCRIBED_SET)
            .map_err(|_| Fault::answer("a contract that can be read"))?;
        let comments = pool.files().map(|file| (file.name().to_owned(), of(&file)));
        Ok(Self {
            comments: comments.collect(),
            pool,
            numbers,
            definitions: Map::new(),
        })
    }

    /// What was defined on the way.
    pub(super) fn into_definitions(self) -> Value {
        Value::Object(self.definitions)
    }

    /// A whole number of 64 bits.
    pub(super) fn whole(&self) -> Value {
        if self.numbers {
            json!({ "type": "integer" })
        } else {
            json!({ "type": "string", "pattern": "^-?[0-9]+$" })
        }
    }

    /// A reference to a message by its name in the contract, which is defined from now on.
    pub(super) fn reference(&mut self, name: &str) -> Result<Value, Fault> {
        let message = self.message(name)?;
        self.defined(&message)
    }

    /// The members of a message, to put others beside them.
    pub(super) fn members(&mut self, name: &str) -> Result<Members, Fault> {
        let message = self.message(name)?;
        self.members_of(&message)
    }

    fn message(&self, name: &str) -> Result<MessageDescriptor, Fault> {
        self.pool
            .get_message_by_name(&format!("{PACKAGE}.{name}"))
            .ok_or_else(|| Fault::answer("a message of the contract"))
    }

    fn defined(&mut self, message: &MessageDescriptor) -> Result<Value, Fault> {
        let name = message.name().to_owned();
        if !self.definitions.contains_key(&name) {
            // Before its members: one of them may be of the same message.
            self.definitions.insert(name.clone(), Value::Null);
            let mut schema = self.members_of(message)?.into_schema();
            let path = message.path();
            self.describe(&mut schema, &message.parent_file(), path);
            self.definitions.insert(name.clone(), schema);
        }
        Ok(json!({ "$ref": format!("#/$defs/{name}") }))
    }

    fn members_of(&mut self, message: &MessageDescriptor) -> Result<Members, Fault> {
        let mut members = Members::default();
        for field in message.fields() {
            let mut schema = self.field(&field)?;
            self.describe(&mut schema, &field.parent_file(), field.path());
            members.put(field.json_name(), schema, !field.supports_presence());
        }
        Ok(members)
    }

    fn field(&mut self, field: &FieldDescriptor) -> Result<Value, Fault> {
        if let (true, Kind::Message(entry)) = (field.is_map(), field.kind()) {
            let value = self.kind(&entry.map_entry_value_field().kind())?;
            return Ok(json!({ "type": "object", "additionalProperties": value }));
        }
        let one = self.kind(&field.kind())?;
        Ok(if field.cardinality() == Cardinality::Repeated {
            json!({ "type": "array", "items": one })
        } else {
            one
        })
    }

    fn kind(&mut self, kind: &Kind) -> Result<Value, Fault> {
        Ok(match kind {
            Kind::Double | Kind::Float => {
                json!({ "anyOf": [{ "type": "number" }, { "enum": ["NaN", "Infinity", "-Infinity"] }] })
            }
            Kind::Int32 | Kind::Uint32 | Kind::Sint32 | Kind::Fixed32 | Kind::Sfixed32 => {
                json!({ "type": "integer" })
            }
            Kind::Int64 | Kind::Uint64 | Kind::Sint64 | Kind::Fixed64 | Kind::Sfixed64 => {
                self.whole()
            }
            Kind::Bool => json!({ "type": "boolean" }),
            Kind::String => json!({ "type": "string" }),
            Kind::Bytes => json!({ "type": "string", "contentEncoding": "base64" }),
            Kind::Enum(kind) => words(kind),
            Kind::Message(message) => match message.full_name() {
                "google.protobuf.Timestamp" => json!({ "type": "string", "format": "date-time" }),
                "google.protobuf.Duration" => {
                    json!({ "type": "string", "pattern": "^-?[0-9.]+s$" })
                }
                "google.protobuf.FieldMask" => json!({ "type": "string" }),
                _ => self.defined(message)?,
            },
        })
    }

    /// Adds the comment that stands at a path of a file.
    fn describe(&self, schema: &mut Value, file: &FileDescriptor, path: &[i32]) {
        let comment = self.comments.get(file.name()).and_then(|of| of.get(path));
        if let (Some(comment), Some(members)) = (comment, schema.as_object_mut()) {
            members.insert("description".to_owned(), json!(comment));
        }
    }
}

/// A word of the contract; a number where a later service says one that is not known here.
fn words(kind: &EnumDescriptor) -> Value {
    let names: Vec<String> = kind.values().map(|value| value.name().to_owned()).collect();
    json!({ "anyOf": [{ "enum": names }, { "type": "integer" }] })
}

/// The comments of a file, by the path of what they stand before.
fn of(file: &FileDescriptor) -> HashMap<Vec<i32>, String> {
    let info = file.file_descriptor_proto().source_code_info.as_ref();
    let places = info.into_iter().flat_map(|info| &info.location);
    let told = places.filter_map(|place| {
        let comment = place.leading_comments.as_deref()?.trim();
        (!comment.is_empty()).then(|| (place.path.clone(), comment.to_owned()))
    });
    told.collect()
}
