//! `man DIR`: writes the manual pages, one for each command.
//!
//! It serves whoever packages the program. It writes into the folder it is given and nowhere else.

use std::fs;
use std::path::PathBuf;

use clap::Args;
use serde_json::json;

use crate::exit::Exit;
use crate::fault::Fault;
use crate::private;
use crate::render::{Form, Printer};

/// What `man` takes.
#[derive(Args, Debug)]
pub(crate) struct Man {
    /// Folder for the pages; it is made where it is missing
    #[arg(value_name = "DIR")]
    pub(crate) folder: PathBuf,
}

/// Writes the pages of a tree of commands.
pub(crate) fn perform(
    args: &Man,
    tree: clap::Command,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let shown = args.folder.display().to_string();
    private::handing_out(|| {
        fs::create_dir_all(&args.folder).and_then(|()| clap_mangen::generate_to(tree, &args.folder))
    })
    .map_err(|error| Fault::file(&shown, &error))?;
    match printer.form() {
        Form::Json => printer.document(&json!({"folder": shown})),
        Form::People | Form::Csv => printer.page(&format!("Manual pages are in {shown}.")),
    }
    Ok(Exit::Done)
}
