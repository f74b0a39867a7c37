//! What `proto/numbers.rs` holds of every message of a request: its numbers with their bounds.
//!
//! A number that a request can bring and that the contract neither bounds nor says to be the service's
//! own is not built, and neither is a text of which it does not say what it is.

use std::collections::BTreeMap;
use std::error::Error;
use std::fmt::Write as _;

use protox::prost_reflect::{
    DescriptorPool, DynamicMessage, FieldDescriptor, Kind, MessageDescriptor, Value,
};

use super::camel;

/// The option in which the contract says within what a number is true, and which fields are its own.
const OPTION: &str = "fettlebook.v1.field";

/// Sums of money are read whole, and say beside their fields what these are.
const MONEY: &str = "fettlebook.v1.Money";

/// The code of every message that a request can bring a number in.
pub(crate) fn numbers(pool: &DescriptorPool) -> Result<String, Box<dyn Error>> {
    let mut found = BTreeMap::new();
    for method in pool
        .services()
        .flat_map(|service| service.methods().collect::<Vec<_>>())
    {
        look(pool, &method.input(), &mut found)?;
    }
    let mut code = String::new();
    for (message, body) in found.values() {
        let unused = if body.is_empty() { "_" } else { "" };
        writeln!(
            code,
            "impl Numbers for v1::{} {{
    fn beyond(&self, {unused}at: At<'_>, {unused}found: &mut Vec<Beyond>) {{
{body}    }}
}}",
            message.name()
        )?;
    }
    Ok(code)
}

type Found = BTreeMap<String, (MessageDescriptor, String)>;

/// Takes a message in, with the messages in it.
fn look(
    pool: &DescriptorPool,
    message: &MessageDescriptor,
    found: &mut Found,
) -> Result<(), Box<dyn Error>> {
    let name = message.full_name().to_owned();
    if found.contains_key(&name) {
        return Ok(());
    }
    // Before its fields are looked at: a message may hold itself.
    found.insert(name.clone(), (message.clone(), String::new()));
    let mut body = String::new();
    for field in message.fields() {
        let rule = rule(pool, &field)?;
        if rule.own {
            continue;
        }
        match field.kind() {
            Kind::Message(inner) if inner.full_name().starts_with("fettlebook.") => {
                look(pool, &inner, found)?;
                let down = format!("one.beyond(at.down(\"{}\"), found)", field.name());
                body.push_str(&each(&field, &down, true));
            }
            Kind::Int32 | Kind::Int64 => {
                let bounds = rule.bounds.ok_or_else(|| {
                    format!(
                        "{} lacks the option ({OPTION}): within what it is true, or that it is the \
                         service's own",
                        field.full_name()
                    )
                })?;
                let held = format!("at.hold(\"{}\", one, &{bounds}, found)", field.name());
                body.push_str(&each(&field, &held, false));
            }
            Kind::String | Kind::Bytes if !rule.formed && name != MONEY => {
                return Err(format!(
                    "{} lacks the option ({OPTION}): what its text is",
                    field.full_name()
                )
                .into());
            }
            Kind::Double | Kind::Float | Kind::Uint32 | Kind::Uint64 => {
                return Err(format!("{}: a request counts in int64", field.full_name()).into());
            }
            _ => {}
        }
    }
    if let Some((_, place)) = found.get_mut(&name) {
        *place = body;
    }
    Ok(())
}

/// A statement for each value of a field, named `one`.
fn each(field: &FieldDescriptor, done: &str, is_message: bool) -> String {
    let name = field.name();
    let copied = if is_message { "" } else { "let one = *one; " };
    let real = field
        .containing_oneof()
        .filter(|oneof| !oneof.is_synthetic());
    if let Some(oneof) = real {
        let message = snake(field.parent_message().name());
        let (choice, chosen) = (variant(oneof.name()), variant(name));
        return format!(
            "        if let Some(v1::{message}::{choice}::{chosen}(one)) = &self.{} {{ {copied}{done}; }}\n",
            oneof.name()
        );
    }
    if field.is_list() {
        return format!("        for one in &self.{name} {{ {copied}{done}; }}\n");
    }
    match (is_message, field.supports_presence()) {
        (true, _) => format!("        if let Some(one) = &self.{name} {{ {done}; }}\n"),
        (false, true) => format!("        if let Some(one) = self.{name} {{ {done}; }}\n"),
        (false, false) => format!("        {{ let one = self.{name}; {done}; }}\n"),
    }
}

/// What the contract says of a field beside its type.
struct Rule {
    bounds: Option<String>,
    own: bool,
    formed: bool,
}

fn rule(pool: &DescriptorPool, field: &FieldDescriptor) -> Result<Rule, Box<dyn Error>> {
    let option = pool
        .get_extension_by_name(OPTION)
        .ok_or("the contract has no option for its fields")?;
    let options = field.options();
    let mut rule = Rule {
        bounds: None,
        own: false,
        formed: false,
    };
    if !options.has_extension(&option) {
        return Ok(rule);
    }
    let said = options.get_extension(&option);
    let said = said.as_message().ok_or("the option is no message")?;
    rule.own = number(said, "standing")? == 1;
    rule.formed = number(said, "form")? != 0;
    if let Some(Value::Message(bounds)) = said
        .has_field_by_name("bounds")
        .then(|| said.get_field_by_name("bounds"))
        .flatten()
        .as_deref()
    {
        let (least, most) = (number(bounds, "least")?, number(bounds, "most")?);
        if least > most {
            return Err(
                format!("{}: its bounds are the wrong way round", field.full_name()).into(),
            );
        }
        let unit = bounds.get_field_by_name("unit");
        let unit = unit.as_deref().and_then(Value::as_str).unwrap_or_default();
        rule.bounds = Some(format!(
            "Bounds {{ least: {least}, most: {most}, unit: {unit:?} }}"
        ));
    }
    Ok(rule)
}

/// A number of an option.
fn number(message: &DynamicMessage, field: &str) -> Result<i64, Box<dyn Error>> {
    let value = message
        .get_field_by_name(field)
        .ok_or_else(|| format!("the option has no field {field}"))?;
    let number = value.as_i64();
    let number = number.or_else(|| value.as_enum_number().map(i64::from));
    number.ok_or_else(|| format!("the option's field {field} is no number").into())
}

/// `LiquidAmount` as Rust names the module of its choices: `liquid_amount`.
fn snake(name: &str) -> String {
    let mut words = String::new();
    for (at, letter) in name.chars().enumerate() {
        if at > 0 && letter.is_ascii_uppercase() {
            words.push('_');
        }
        words.push(letter.to_ascii_lowercase());
    }
    words
}

/// `volume_ul` as Rust writes a choice: `VolumeUl`.
fn variant(name: &str) -> String {
    camel(&name.to_ascii_uppercase())
}
