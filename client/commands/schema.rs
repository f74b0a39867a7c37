//! `schema`: the JSON Schema of what a command prints with `--json`.
//!
//! It serves whoever writes a program around `fettle`. It needs no book.

use clap::Args;

use crate::exit::Exit;
use crate::fault::Fault;
use crate::json;
use crate::render::Printer;
use crate::schema;

/// What `schema` takes.
#[derive(Args, Debug)]
pub(crate) struct Schema {
    /// The command, without its options: for example kit list
    #[arg(value_name = "COMMAND", required = true, num_args = 1..)]
    pub(crate) command: Vec<String>,
}

/// Prints it; with `--json-numbers` that of `--json-numbers`.
pub(crate) fn perform(args: &Schema, printer: &mut Printer) -> Result<Exit, Fault> {
    let found = schema::of(&args.command.join(" "), json::has_numbers())?;
    printer.document(&found);
    Ok(Exit::Done)
}
