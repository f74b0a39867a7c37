//! What an answer looks like, said in a table, and the schema that follows from it.

use serde_json::{Map, Value, json};

use super::contract::Contract;
use crate::fault::Fault;

/// What a value looks like.
#[derive(Debug, Clone, Copy)]
pub(super) enum Shape {
    /// A message of the contract, by its name.
    Message(&'static str),
    /// A message of the contract and further members beside its own.
    Beside(&'static str, &'static [Member]),
    /// An object.
    Object(&'static [Member]),
    /// A list, all alike.
    List(&'static Self),
    /// One of these.
    AnyOf(&'static [Self]),
    /// Text.
    Text,
    /// A moment, in RFC 3339.
    Moment,
    /// One of these words.
    Word(&'static [&'static str]),
    /// A whole number.
    Number,
    /// A whole number of 64 bits as the contract's mapping writes it: as text, unless numbers are wanted.
    Whole,
    /// True or false.
    Flag,
    /// Nothing.
    Null,
    /// Whatever it may be.
    Anything,
}

/// A member of an object.
#[derive(Debug, Clone, Copy)]
pub(super) struct Member {
    name: &'static str,
    shape: Shape,
    is_always_there: bool,
}

/// A member that is always there.
pub(super) const fn always(name: &'static str, shape: Shape) -> Member {
    Member {
        name,
        shape,
        is_always_there: true,
    }
}

/// A member that is there where there is something to say.
pub(super) const fn maybe(name: &'static str, shape: Shape) -> Member {
    Member {
        name,
        shape,
        is_always_there: false,
    }
}

impl Shape {
    /// Its schema; messages that it names are defined in the contract's definitions.
    pub(super) fn schema(&self, contract: &mut Contract) -> Result<Value, Fault> {
        Ok(match self {
            Self::Message(name) => contract.reference(name)?,
            Self::Beside(name, members) => {
                let mut held = contract.members(name)?;
                add(&mut held, members, contract)?;
                held.into_schema()
            }
            Self::Object(members) => {
                let mut held = Members::default();
                add(&mut held, members, contract)?;
                held.into_schema()
            }
            Self::List(item) => json!({ "type": "array", "items": item.schema(contract)? }),
            Self::AnyOf(shapes) => {
                let schemas: Result<Vec<Value>, Fault> =
                    shapes.iter().map(|shape| shape.schema(contract)).collect();
                json!({ "anyOf": schemas? })
            }
            Self::Text => json!({ "type": "string" }),
            Self::Moment => json!({ "type": "string", "format": "date-time" }),
            Self::Word(words) => json!({ "enum": words }),
            Self::Number => json!({ "type": "integer" }),
            Self::Whole => contract.whole(),
            Self::Flag => json!({ "type": "boolean" }),
            Self::Null => json!({ "type": "null" }),
            Self::Anything => json!({}),
        })
    }
}

fn add(held: &mut Members, members: &[Member], contract: &mut Contract) -> Result<(), Fault> {
    for member in members {
        let schema = member.shape.schema(contract)?;
        held.put(member.name, schema, member.is_always_there);
    }
    Ok(())
}

/// The members of an object.
#[derive(Debug, Default)]
pub(super) struct Members {
    properties: Map<String, Value>,
    required: Vec<String>,
}

impl Members {
    /// One more.
    pub(super) fn put(&mut self, name: &str, schema: Value, is_always_there: bool) {
        self.properties.insert(name.to_owned(), schema);
        if is_always_there {
            self.required.push(name.to_owned());
        }
    }

    /// An object that has them.
    pub(super) fn into_schema(self) -> Value {
        json!({ "type": "object", "properties": self.properties, "required": self.required })
    }
}
