//! The contract's JSON mapping, both ways, from the descriptor set.
//!
//! It serves `--json`, `--csv` and `--from`. The descriptor pool is only loaded when one of these is
//! asked for. Field names, enum names, 64-bit numbers and times are the protobuf JSON mapping's,
//! never the client's own; every field is written, so that a script can rely on its being there. The mapping
//! writes whole numbers of 64 bits as text; with `--json-numbers` they are numbers.

use std::fmt::Display;
use std::sync::OnceLock;

use prost::{Message, Name};
use prost_reflect::{
    DescriptorPool, DeserializeOptions, DynamicMessage, MessageDescriptor, SerializeOptions,
};
use serde_json::Value;

use crate::fault::Fault;

fn pool() -> Result<&'static DescriptorPool, Fault> {
    static POOL: OnceLock<Option<DescriptorPool>> = OnceLock::new();
    POOL.get_or_init(|| DescriptorPool::decode(fettlebook_contract::DESCRIPTOR_SET).ok())
        .as_ref()
        .ok_or_else(|| Fault::answer("a contract that can be read"))
}

/// The descriptor of a message type.
pub(crate) fn descriptor<M: Name>() -> Result<MessageDescriptor, Fault> {
    pool()?
        .get_message_by_name(&M::full_name())
        .ok_or_else(|| Fault::answer("a message of the contract"))
}

/// A message as it is reflected.
pub(crate) fn dynamic<M: Message + Name>(message: &M) -> Result<DynamicMessage, Fault> {
    DynamicMessage::decode(descriptor::<M>()?, message.encode_to_vec().as_slice())
        .map_err(|_| Fault::answer("a message that can be read back"))
}

/// Set where whole numbers are written as numbers. The command line says it once, for the whole process.
static NUMBERS: OnceLock<()> = OnceLock::new();

/// Writes whole numbers as numbers from now on.
pub(crate) fn write_numbers() {
    // Said twice it is said all the same.
    let _ = NUMBERS.set(());
}

/// Whether whole numbers are written as numbers.
pub(crate) fn has_numbers() -> bool {
    NUMBERS.get().is_some()
}

/// A whole number as the mapping writes one of 64 bits.
pub(crate) fn whole<N: Display + Into<Value>>(number: N) -> Value {
    if has_numbers() {
        number.into()
    } else {
        Value::String(number.to_string())
    }
}

fn options() -> SerializeOptions {
    written(has_numbers())
}

/// How messages are written, with or without numbers for numbers.
fn written(numbers: bool) -> SerializeOptions {
    SerializeOptions::new()
        .skip_default_fields(false)
        .stringify_64_bit_integers(!numbers)
}

/// A message as a JSON document, indented, without a last line end.
pub(crate) fn to_json<M: Message + Name>(message: &M) -> Result<String, Fault> {
    let mut bytes = Vec::new();
    let mut writer = serde_json::Serializer::pretty(&mut bytes);
    dynamic(message)?
        .serialize_with_options(&mut writer, &options())
        .map_err(|_| Fault::answer("a message that can be written as JSON"))?;
    String::from_utf8(bytes).map_err(|_| Fault::answer("text in UTF-8"))
}

/// A message as a JSON value, for documents put together from several and for CSV.
pub(crate) fn to_value<M: Message + Name>(message: &M) -> Result<Value, Fault> {
    dynamic(message)?
        .serialize_with_options(serde_json::value::Serializer, &options())
        .map_err(|_| Fault::answer("a message that can be written as JSON"))
}

/// The type of the requests to the rpc at a path, `/fettlebook.v1.KitService/WashKit`.
fn request_kind(path: &str) -> Result<MessageDescriptor, Fault> {
    let unknown = || Fault::answer("an rpc of the contract");
    let (service, name) = path
        .trim_start_matches('/')
        .split_once('/')
        .ok_or_else(unknown)?;
    let service = pool()?.get_service_by_name(service).ok_or_else(unknown)?;
    let method = service.methods().find(|method| method.name() == name);
    Ok(method.ok_or_else(unknown)?.input())
}

/// A request to the rpc at a path as a JSON value; what is not set is left out.
pub(crate) fn request_of(path: &str, bytes: &[u8]) -> Result<Value, Fault> {
    let message = DynamicMessage::decode(request_kind(path)?, bytes)
        .map_err(|_| Fault::answer("a request that can be read"))?;
    message
        .serialize_with_options(serde_json::value::Serializer, &SerializeOptions::new())
        .map_err(|_| Fault::answer("a request that can be written as JSON"))
}

/// A request to the rpc at a path, of a JSON value.
pub(crate) fn request_bytes(path: &str, request: &Value) -> Result<Vec<u8>, Fault> {
    let message = DynamicMessage::deserialize(request_kind(path)?, request)
        .map_err(|_| Fault::answer("a request that can be read"))?;
    Ok(message.encode_to_vec())
}

/// Reads a message from JSON. Unknown fields are refused by name.
///
/// # Errors
/// Says which line and what was expected there.
pub(crate) fn from_json<M: Message + Name + Default>(text: &str) -> Result<M, Fault> {
    let kind = descriptor::<M>()?;
    let name = kind.name().to_owned();
    let wrong = |error: serde_json::Error| {
        Fault::usage(
            "--from",
            format!("This is not a {name} in the contract's JSON: {error}."),
        )
    };
    let mut reader = serde_json::Deserializer::from_str(text);
    let strict = DeserializeOptions::new().deny_unknown_fields(true);
    let message =
        DynamicMessage::deserialize_with_options(kind, &mut reader, &strict).map_err(wrong)?;
    reader.end().map_err(wrong)?;
    message
        .transcode_to()
        .map_err(|_| Fault::answer("a message that can be read back"))
}

#[cfg(test)]
mod tests {
    use super::{dynamic, from_json, to_json, written};
    use fettlebook_contract::v1::{GetPieceRequest, LogUseRequest, PadUse, Step};

    /// Source: protobuf documentation, "ProtoJSON Format": lowerCamelCase names, int64 as strings,
    /// enums by name.
    #[test]
    fn json_is_the_protobuf_mapping() {
        let step = Step {
            step: "cut".to_owned(),
            side_mm: Some(450),
            ..Step::default()
        };
        insta::assert_snapshot!(to_json(&step).unwrap(), @r#"
        {
          "step": "cut",
          "machineMake": "",
          "padMake": "",
          "liquidMake": "",
          "sideMm": "450",
          "press": "PRESS_UNSPECIFIED",
          "panels": [],
          "byHand": false,
          "wipeDownMake": "",
          "padCleaning": "PAD_CLEANING_UNSPECIFIED",
          "shares": [],
          "ownPanels": []
        }
        "#);
    }

    #[test]
    fn with_numbers_a_whole_number_is_one_and_all_else_is_as_it_was() {
        let step = Step {
            side_mm: Some(450),
            ..Step::default()
        };
        let seen = |numbers| {
            let message = dynamic(&step).unwrap();
            let writer = serde_json::value::Serializer;
            message
                .serialize_with_options(writer, &written(numbers))
                .unwrap()
        };
        let (mut plain, numbers) = (seen(false), seen(true));
        assert_eq!(
            (&plain["sideMm"], &numbers["sideMm"]),
            (&"450".into(), &450.into())
        );
        plain["sideMm"] = 450.into();
        assert_eq!(plain, numbers);
    }

    #[test]
    fn a_message_comes_back_from_its_json() {
        let request = LogUseRequest {
            job: "saloon-thursday".to_owned(),
            pads: vec![PadUse {
                tag: "P-07".to_owned(),
                section_count: Some(9),
                ..PadUse::default()
            }],
            ..LogUseRequest::default()
        };
        let text = to_json(&request).unwrap();
        assert_eq!(from_json::<LogUseRequest>(&text).unwrap(), request);
    }

    #[test]
    fn an_unknown_field_is_refused_by_its_name() {
        let fault = from_json::<GetPieceRequest>(r#"{"tagg":"P-07"}"#).unwrap_err();
        assert!(fault.message.contains("tagg"), "{}", fault.message);
        assert_eq!(fault.exit.code(), 2);
    }

    #[test]
    fn a_truncated_document_is_refused_with_its_line() {
        let fault = from_json::<LogUseRequest>("{\"job\":\n").unwrap_err();
        assert!(fault.message.contains("line"), "{}", fault.message);
    }
}
