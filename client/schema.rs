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
    let what = if NO_JSON.contains(&command) {
        format!("'fettle {command}' prints text, whatever is asked for.")
    } else {
        format!("'{command}' is no command that answers.")
    };
    let mut fault = Fault::usage("COMMAND", what);
    let within = |name: &&str| name.split(' ').next() == command.split(' ').next();
    let near: Vec<&str> = commands().filter(within).collect();
    fault.todo = if near.is_empty() {
        "Name the command without options, for example 'fettle schema kit list'; 'fettle --help' lists all."
            .to_owned()
    } else {
        format!("There are: {}.", near.join(", "))
    };
    fault
}

#[cfg(test)]
mod tests;
