//! `completions SHELL`: prints the script that makes a shell complete `fettle`.
//!
//! It serves the person's shell start-up file. The script asks `fettle` itself, so tags and jobs
//! complete from the book.

use clap::Args;
use clap::builder::PossibleValuesParser;
use clap_complete::env::Shells;
use serde_json::json;

use crate::complete::VARIABLE;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::render::{Form, Printer};

/// What `completions` takes.
#[derive(Args, Debug)]
pub(crate) struct Completions {
    /// The shell
    #[arg(value_name = "SHELL", value_parser = shells())]
    pub(crate) shell: String,
}

fn shells() -> PossibleValuesParser {
    PossibleValuesParser::new(Shells::builtins().names())
}

/// Prints the script.
pub(crate) fn perform(args: &Completions, printer: &mut Printer) -> Result<Exit, Fault> {
    let known = Shells::builtins();
    let mut script = Vec::new();
    known
        .completer(&args.shell)
        .ok_or_else(|| Fault::usage("SHELL", "That shell is not known."))?
        .write_registration(VARIABLE, "fettle", "fettle", "fettle", &mut script)
        .map_err(|error| Fault::file("the script", &error))?;
    let script = String::from_utf8_lossy(&script);
    match printer.form() {
        Form::Json => printer.document(&json!({"shell": args.shell, "script": script})),
        Form::People | Form::Csv => printer.verbatim(&script),
    }
    Ok(Exit::Done)
}
