//! Every command has a schema, which says what the mapping writes.
//!
//! What real commands print is checked by a validator that is not ours, in `tests/suite/schemas.rs`.

use std::collections::BTreeSet;

use serde_json::{Value, json};

use super::answers::NO_JSON;
use super::{commands, of};
use crate::args::tree;

/// The words of every command that does something, one noun or two before it.
fn leaves(command: &clap::Command, words: &str, found: &mut BTreeSet<String>) {
    let below = command
        .get_subcommands()
        .filter(|one| one.get_name() != "help");
    let mut is_leaf = true;
    for one in below {
        is_leaf = false;
        let words = format!("{words} {}", one.get_name());
        leaves(one, words.trim(), found);
    }
    if is_leaf {
        found.insert(words.to_owned());
    }
}

#[test]
fn every_command_has_a_schema_and_no_other() {
    let mut typed = BTreeSet::new();
    leaves(&tree(), "", &mut typed);
    let known = commands().chain(NO_JSON.iter().copied());
    let known: BTreeSet<String> = known.map(str::to_owned).collect();
    let diff: Vec<_> = typed.symmetric_difference(&known).collect();
    assert!(diff.is_empty(), "typed or known, not both: {diff:?}");
    for command in commands() {
        of(command, false).unwrap();
    }
}

/// Source: protobuf documentation, "ProtoJSON Format": int64 as strings, enums by name, timestamps in RFC 3339.
#[test]
fn a_message_is_described_as_the_mapping_writes_it() {
    let schema = of("kit list", false).unwrap();
    assert_eq!(
        schema["anyOf"][0],
        json!({ "$ref": "#/$defs/ListPiecesResponse" })
    );
    let piece = &schema["$defs"]["Piece"];
    let property = |name: &str| piece["properties"][name].clone();
    assert_eq!(property("tag")["type"], "string");
    let about = property("tag")["description"]
        .as_str()
        .unwrap_or_default()
        .to_owned();
    assert!(!about.is_empty(), "comments come along");
    let entry = &of("book show", false).unwrap()["$defs"]["Entry"]["properties"];
    assert_eq!(entry["seq"]["pattern"], "^-?[0-9]+$");
    assert_eq!(entry["recordedTime"]["format"], "date-time");
    assert_eq!(entry["deeds"]["items"], json!({ "$ref": "#/$defs/Deed" }));
    let required = |name: &str| {
        let all = of("book show", false).unwrap()["$defs"]["Entry"]["required"].clone();
        all.as_array().unwrap().contains(&json!(name))
    };
    assert!(required("seq") && !required("reversedBySeq") && !required("kept"));
    let numbers = &of("book show", true).unwrap()["$defs"]["Entry"]["properties"];
    assert_eq!(numbers["seq"]["type"], "integer");
}

#[test]
fn what_is_no_command_is_told_with_those_near_it() {
    for (typed, says, example) in [
        ("kit lis", "Perhaps 'fettle schema kit list'?", "kit list"),
        ("kit", "There are: kit list, kit show,", "kit list"),
        ("abacus", "There are: today, start, check,", "kit list"),
        ("sheet", "There are: today, start, check,", "kit list"),
    ] {
        let fault = of(typed, false).unwrap_err();
        assert_eq!(fault.exit.code(), 2, "{typed}");
        assert!(fault.message.contains(typed), "{}", fault.message);
        assert!(fault.todo.contains(says), "{typed}: {}", fault.todo);
        assert_eq!(fault.hints.example, format!("fettle schema {example}"));
    }
}

#[test]
fn each_reference_leads_to_a_definition() {
    fn references(value: &Value, found: &mut BTreeSet<String>) {
        match value {
            Value::Object(members) => {
                if let Some(Value::String(to)) = members.get("$ref") {
                    found.insert(to.clone());
                }
                members.values().for_each(|one| references(one, found));
            }
            Value::Array(items) => items.iter().for_each(|one| references(one, found)),
            _ => {}
        }
    }
    for command in commands() {
        let schema = of(command, false).unwrap();
        let mut found = BTreeSet::new();
        references(&schema, &mut found);
        for to in found {
            let at = to.trim_start_matches('#');
            let held = schema.pointer(at);
            assert!(held.is_some_and(Value::is_object), "{command}: {to}");
        }
    }
}
