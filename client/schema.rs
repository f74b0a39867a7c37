//! The JSON Schema of what a command prints with `--json`.
//!
//! What is a message of the contract follows from the contract's own description, comments and all; what a
//! command puts together itself is said in a table beside it. Every document that `--json` prints in the
//! tests is checked against it by a general validator.
//!
//! Source: JSON Schema 2020-12, <https://json-schema.org/draft/2020-12>; protobuf documentation, "ProtoJSON
//! Format".

mod answers;
mod contract;
mod shape;

use serde_json::{Value, json};

use crate::fault::Fault;
use crate::mistyped::nearest;
use answers::{ANSWERS, ERROR, NO_JSON};
use contract::Contract;

/// The schema of what a command answers, by its words (`kit list`); `numbers` as with `--json-numbers`.
///
/// # Errors
/// When there is no such command, or it prints no JSON.
pub(crate) fn of(command: &str, numbers: bool) -> Result<Value, Fault> {
    let found = ANSWERS.iter().find(|(name, _)| *name == command);
    let Some((_, shape)) = found else {
        return Err(unknown(command));
    };
    let mut contract = Contract::read(numbers)?;
    let answer = shape.schema(&mut contract)?;
    let error = ERROR.schema(&mut contract)?;
    let option = if numbers { "--json-numbers" } else { "--json" };
    Ok(json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": format!("fettle {command} {option}"),
        "description": "What the command prints on standard output; where it failed, an error. More members \
                        may be added.",
        "anyOf": [answer, error],
        "$defs": contract.into_definitions(),
    }))
}

/// Every command that prints JSON.
pub(crate) fn commands() -> impl Iterator<Item = &'static str> {
    ANSWERS.iter().map(|(name, _)| *name)
}

fn unknown(command: &str) -> Fault {
    let is_text = NO_JSON.contains(&command);
    let what = if is_text {
        format!("'fettle {command}' prints text, whatever is asked for, so it has no schema.")
    } else {
        format!("'{command}' is no command that answers with --json.")
    };
    let mut fault = Fault::usage("COMMAND", what);
    let within = |name: &&str| name.split(' ').next() == command.split(' ').next();
    let within: Vec<&str> = commands().filter(within).collect();
    let is_whole = is_text || (!within.is_empty() && !command.contains(' '));
    let alike = nearest(command, commands().map(str::to_owned).collect()).filter(|_| !is_whole);
    let first = within.first().copied().unwrap_or("kit list");
    let example = alike.as_deref().unwrap_or(first).to_owned();
    fault.todo = match alike {
        Some(alike) => format!("Perhaps 'fettle schema {alike}'?"),
        None if within.is_empty() => format!("There are: {}.", beginnings().join(", ")),
        None => format!("There are: {}.", within.join(", ")),
    };
    fault.with_example(format!("fettle schema {example}"))
}

/// The words that commands which print JSON begin with, each once.
fn beginnings() -> Vec<&'static str> {
    let mut words: Vec<&str> = Vec::new();
    for word in commands().filter_map(|name| name.split(' ').next()) {
        if !words.contains(&word) {
            words.push(word);
        }
    }
    words
}

#[cfg(test)]
mod tests;
