//! Messages of the contract as they are reflected: their fields by name, with what the contract says of
//! each beside its type.

use std::sync::OnceLock;

use fettlebook_contract::v1::{FieldRule, Standing};
use prost::{Message, Name};
#[cfg(feature = "postgres")]
use prost_reflect::DeserializeOptions;
use prost_reflect::{DescriptorPool, DynamicMessage, FieldDescriptor, OneofDescriptor, Value};

use super::status::EdgeError;

/// The contract's option of fields.
const OPTION: &str = "fettlebook.v1.field";
/// The usual option of fields, and what it has for one that has to be given.
const BEHAVIOUR: &str = "google.api.field_behavior";
const REQUIRED: i32 = 2;
/// The contract's option of fields that exclude each other.
const NEEDED: &str = "fettlebook.v1.needed";

/// The whole contract.
fn pool() -> Option<&'static DescriptorPool> {
    static POOL: OnceLock<Option<DescriptorPool>> = OnceLock::new();
    POOL.get_or_init(|| DescriptorPool::decode(fettlebook_contract::DESCRIPTOR_SET).ok())
        .as_ref()
}

/// A message as it is reflected.
pub(super) fn dynamic<M: Message + Name>(message: &M) -> Result<DynamicMessage, EdgeError> {
    let unreadable = || EdgeError::Unreadable {
        why: format!("{} is not in the contract", M::NAME),
    };
    let kind = pool().and_then(|pool| pool.get_message_by_name(&M::full_name()));
    let kind = kind.ok_or_else(unreadable)?;
    DynamicMessage::decode(kind, message.encode_to_vec().as_slice()).map_err(|_| unreadable())
}

/// A message from its JSON in the contract's names; what a later program put there is passed over.
#[cfg(feature = "postgres")]
pub(super) fn from_json<M: Message + Name + Default>(text: &str) -> Option<M> {
    let kind = pool()?.get_message_by_name(&M::full_name())?;
    let options = DeserializeOptions::new().deny_unknown_fields(false);
    let mut json = serde_json::Deserializer::from_str(text);
    let told = DynamicMessage::deserialize_with_options(kind, &mut json, &options).ok()?;
    told.transcode_to().ok()
}

/// A message as it was sent.
pub(super) fn decoded(name: &str, bytes: &[u8]) -> Option<DynamicMessage> {
    let kind = pool()?.get_message_by_name(name)?;
    DynamicMessage::decode(kind, bytes).ok()
}

/// Every word of an enum of the contract, but for the one that says nothing.
pub(super) fn words_of(name: &str) -> Vec<String> {
    let words = pool().and_then(|pool| pool.get_enum_by_name(&format!("fettlebook.v1.{name}")));
    let words = words.into_iter().flat_map(|words| {
        let said = words.values().filter(|word| word.number() != 0);
        said.map(|word| word.name().to_owned()).collect::<Vec<_>>()
    });
    words.collect()
}

/// Whether an edit may name a field: not an id, nor what the service works out.
pub(super) fn editable(field: &FieldDescriptor) -> bool {
    standing(field) == Standing::Unspecified
}

/// Who gives a field.
pub(super) fn standing(field: &FieldDescriptor) -> Standing {
    let said = option(OPTION, &field.options());
    let rule = said.as_ref().and_then(Value::as_message);
    let standing = rule.and_then(|rule| rule.get_field_by_name("standing")?.as_enum_number());
    standing
        .and_then(|number| Standing::try_from(number).ok())
        .unwrap_or_default()
}

/// What the contract says of a field beside its type.
pub(super) fn rule(field: &FieldDescriptor) -> FieldRule {
    let said = option(OPTION, &field.options());
    let rule = said.as_ref().and_then(Value::as_message);
    rule.and_then(|rule| rule.transcode_to().ok())
        .unwrap_or_default()
}

/// Whether a field has to be given.
pub(super) fn is_required(field: &FieldDescriptor) -> bool {
    let said = option(BEHAVIOUR, &field.options());
    let words = said.as_ref().and_then(Value::as_list);
    words.is_some_and(|words| {
        words
            .iter()
            .any(|word| word.as_enum_number() == Some(REQUIRED))
    })
}

/// Whether one of these fields has to be given.
pub(super) fn is_needed(choice: &OneofDescriptor) -> bool {
    let said = option(NEEDED, &choice.options());
    said.and_then(|said| said.as_bool()).unwrap_or_default()
}

/// What an option says; nothing where it is not set.
fn option(name: &str, options: &DynamicMessage) -> Option<Value> {
    let option = pool()?.get_extension_by_name(name)?;
    let is_set = options.has_extension(&option);
    is_set.then(|| options.get_extension(&option).into_owned())
}

/// Whether a field is one of several of which a message has one, such as the figures of a make.
pub(super) fn of_choice(field: &FieldDescriptor) -> bool {
    field
        .containing_oneof()
        .is_some_and(|choice| !choice.is_synthetic())
}
