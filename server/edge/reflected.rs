//! Messages of the contract as they are reflected: their fields by name, with what the contract says of
//! each beside its type.

use std::sync::OnceLock;

use fettlebook_contract::v1::Standing;
use prost::{Message, Name};
use prost_reflect::{DescriptorPool, DynamicMessage, FieldDescriptor, Value};

use super::status::EdgeError;

/// The contract's option of fields.
const OPTION: &str = "fettlebook.v1.field";

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

/// Whether an edit may name a field: not an id, nor what the service works out.
pub(super) fn editable(field: &FieldDescriptor) -> bool {
    standing(field) == Standing::Unspecified
}

/// Who gives a field.
pub(super) fn standing(field: &FieldDescriptor) -> Standing {
    let option = pool().and_then(|pool| pool.get_extension_by_name(OPTION));
    let options = field.options();
    let said = option.as_ref().map(|option| options.get_extension(option));
    let standing = said
        .as_deref()
        .and_then(Value::as_message)
        .and_then(|rule| rule.get_field_by_name("standing")?.as_enum_number());
    standing
        .and_then(|number| Standing::try_from(number).ok())
        .unwrap_or_default()
}

/// Whether a field is one of several of which a message has one, such as the figures of a make.
pub(super) fn of_choice(field: &FieldDescriptor) -> bool {
    field
        .containing_oneof()
        .is_some_and(|choice| !choice.is_synthetic())
}
