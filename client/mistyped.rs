//! A command line that was not understood, in the person's words: what was read, what was expected, and an
//! example that works.
//!
//! The argument parser says what it stumbled over as facts; none of its sentences is shown, because its tips
//! know options and nothing of the trade.

mod repair;
mod said_elsewhere;
mod sample;

use std::error::Error as _;
use std::ffi::OsString;

use clap::error::{ContextKind, ContextValue, ErrorKind};

use crate::fault::Fault;

pub(crate) use repair::{quoted, repaired};
pub(crate) use sample::{Sort, filled, of as sample_of, sorts_in};

/// Words that differ more are not taken for a slip of the finger.
const ALIKE_MIN: f64 = 0.8;

/// The fault of a command line that was not understood. Its example still names what is to be filled in
/// from the book.
pub(crate) fn fault(args: &[OsString], error: &clap::Error, tree: &clap::Command) -> Fault {
    let (path, command) = spoken(args, tree);
    let named = context(error, ContextKind::InvalidArg);
    let mut fault = match error.kind() {
        ErrorKind::InvalidSubcommand => no_command(error, &path, command),
        ErrorKind::UnknownArgument => not_expected(&named, &path, command),
        ErrorKind::InvalidValue => no_value(error, &named),
        ErrorKind::ValueValidation => {
            let why = error.source().map(ToString::to_string).unwrap_or_default();
            let bad = context(error, ContextKind::InvalidValue);
            let names_it = why.contains(bad.as_str());
            let why = if names_it {
                why
            } else {
                format!("'{bad}': {why}")
            };
            Fault::usage(&named, sentence(&why))
        }
        ErrorKind::MissingRequiredArgument => missing(error, &path, command),
        ErrorKind::ArgumentConflict => {
            let prior = context(error, ContextKind::PriorArg);
            let (one, other) = (bare(&named), bare(&prior));
            Fault::usage(
                &named,
                format!("{one} and {other} do not go together; give one of them."),
            )
        }
        ErrorKind::MissingSubcommand | ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand => {
            let commands = commands(command).join(", ");
            Fault::usage(
                "",
                format!("What to do is missing after '{path}': {commands}."),
            )
        }
        _ => Fault::usage(&named, sentence(&first_paragraph(error))),
    };
    if fault.todo.is_empty() {
        fault.todo = format!("'{path} --help' says what it takes.");
    }
    let example = repaired(args, tree).unwrap_or_else(|| format!("{path} --help"));
    if fault.hints.example.is_empty() {
        fault.hints.example = example;
    }
    fault
}

/// The command that was spoken of, as it is typed and as it is described.
pub(crate) fn spoken<'a>(
    args: &[OsString],
    tree: &'a clap::Command,
) -> (String, &'a clap::Command) {
    let mut path = tree.get_name().to_owned();
    let mut command = tree;
    let mut words = args.iter().skip(1).filter_map(|word| word.to_str());
    while let Some(word) = words.next() {
        if takes_value(command, word) {
            words.next();
        } else if let Some(found) = command.find_subcommand(word) {
            command = found;
            path = format!("{path} {word}");
        }
    }
    (path, command)
}

/// Whether the word behind this one is the value of an option.
pub(crate) fn takes_value(command: &clap::Command, word: &str) -> bool {
    let Some(long) = word.strip_prefix("--") else {
        return false;
    };
    let mut args = command.get_arguments();
    let arg = args.find(|arg| arg.get_long() == Some(long));
    arg.is_some_and(|arg| arg.get_action().takes_values())
}

/// The names of a command's own commands.
fn commands(command: &clap::Command) -> Vec<String> {
    let all = command.get_subcommands();
    let all = all.filter(|one| !one.is_hide_set() && one.get_name() != "help");
    all.map(|one| one.get_name().to_owned()).collect()
}

fn no_command(error: &clap::Error, path: &str, command: &clap::Command) -> Fault {
    let said = context(error, ContextKind::InvalidSubcommand);
    let mut fault = Fault::usage("", format!("'{said}' is no command of '{path}'."));
    if let Some(meant) = said_elsewhere::command(path, &said) {
        fault.todo = format!("What does it is '{meant}'.");
        return fault;
    }
    let near = nearest(&said, commands(command));
    fault.todo = match near {
        Some(near) => format!("Perhaps '{path} {near}'?"),
        None => format!("There are: {}.", commands(command).join(", ")),
    };
    fault
}

/// An option that the command has not, or one word too many.
fn not_expected(said: &str, path: &str, command: &clap::Command) -> Fault {
    if !said.starts_with('-') {
        return Fault::usage("", format!("'{said}' is one word too many for '{path}'."));
    }
    if is_below_zero(said) {
        let why = format!("'{said}' lies below zero, and no amount does.");
        return Fault::usage("", why);
    }
    let mut fault = Fault::usage(said, format!("'{said}' is no option of '{path}'."));
    let options = command.get_arguments().filter_map(|arg| arg.get_long());
    let options = options.map(|long| format!("--{long}"));
    if let Some(near) = nearest(said, options.collect()) {
        fault.todo = format!("Perhaps {near}? '{path} --help' lists them all.");
    }
    fault
}

/// Whether a word is an amount with a minus before it, as far as the parser names it.
fn is_below_zero(said: &str) -> bool {
    let amount = said.strip_prefix('-');
    amount.is_some_and(|amount| amount.starts_with(|c: char| c.is_ascii_digit()))
}

fn no_value(error: &clap::Error, named: &str) -> Fault {
    let said = context(error, ContextKind::InvalidValue);
    let words = strings(error, ContextKind::ValidValue);
    let option = bare(named);
    if said.is_empty() {
        return Fault::usage(named, format!("{option} says nothing; it takes {named}."));
    }
    let mut fault = Fault::usage(
        named,
        format!(
            "'{said}' is none of the words for {option}: {}.",
            words.join(", ")
        ),
    );
    if let Some(near) = nearest(&said, words) {
        fault.todo = format!("Perhaps {near}?");
    }
    if let Some(todo) = said_elsewhere::word(&option, &said) {
        todo.clone_into(&mut fault.todo);
    }
    fault
}

/// What is missing, each with what it is.
fn missing(error: &clap::Error, path: &str, command: &clap::Command) -> Fault {
    let names = strings(error, ContextKind::InvalidArg);
    let told: Vec<String> = names
        .iter()
        .map(|name| {
            let arg = command.get_arguments().find(|arg| arg.to_string() == *name);
            let help = arg.and_then(|arg| arg.get_help()).map(ToString::to_string);
            help.map_or_else(
                || any_of(name).join(" or "),
                |help| format!("{name} ({})", lowered(&help)),
            )
        })
        .collect();
    let fields: Vec<&str> = names.iter().flat_map(|name| any_of(name)).collect();
    Fault::usage(
        &fields.join(", "),
        format!("'{path}' lacks {}.", told.join(" and ")),
    )
}

/// What is missing: the one, or any of several options, which the parser puts into one pair of brackets.
fn any_of(name: &str) -> Vec<&str> {
    let inner = name
        .strip_prefix("<--")
        .and_then(|_| name.strip_prefix('<'))
        .and_then(|rest| rest.strip_suffix('>'));
    match inner {
        Some(options) => options.split('|').collect(),
        None => vec![name],
    }
}

fn lowered(help: &str) -> String {
    let mut letters = help.chars();
    let first = letters.next().map(|first| first.to_lowercase().to_string());
    first.unwrap_or_default() + letters.as_str()
}

/// An option without what stands for its value.
fn bare(named: &str) -> String {
    named.split([' ', '<']).next().unwrap_or(named).to_owned()
}

fn context(error: &clap::Error, kind: ContextKind) -> String {
    match error.get(kind) {
        Some(ContextValue::String(text)) => text.clone(),
        Some(ContextValue::Strings(texts)) => texts.join(", "),
        _ => String::new(),
    }
}

fn strings(error: &clap::Error, kind: ContextKind) -> Vec<String> {
    match error.get(kind) {
        Some(ContextValue::Strings(texts)) => texts.clone(),
        Some(ContextValue::String(text)) => vec![text.clone()],
        _ => Vec::new(),
    }
}

/// What the parser says where it has facts that are not known here.
fn first_paragraph(error: &clap::Error) -> String {
    let text = error.render().to_string();
    let first = text.split("\n\n").next().unwrap_or_default();
    let words = first.trim_start_matches("error: ").split_whitespace();
    words.collect::<Vec<_>>().join(" ")
}

/// A text with a capital and a full stop.
fn sentence(text: &str) -> String {
    let text = text.trim();
    let end = if text.ends_with(['.', '?', '!']) {
        ""
    } else {
        "."
    };
    let mut letters = text.chars();
    let first = letters.next().map(|first| first.to_uppercase().to_string());
    first.unwrap_or_default() + letters.as_str() + end
}

/// The word most like one, where there is one that is like it.
pub(crate) fn nearest(said: &str, words: Vec<String>) -> Option<String> {
    let said = said.to_lowercase();
    let scored = words.into_iter().map(|word| {
        let alike = strsim::jaro_winkler(&said, &word.to_lowercase());
        (alike, word)
    });
    let near = scored.filter(|(alike, _)| *alike >= ALIKE_MIN);
    near.max_by(|(one, _), (other, _)| one.total_cmp(other))
        .map(|(_, word)| word)
}

#[cfg(test)]
mod tests;
