//! `wear [MAKE]`: what pad makes really last in this shop, and what is left of each pad.
//!
//! It serves buying, quoting and the wall of the workshop. It works nothing out: the curve, the
//! ranges and the sentences are the service's.

use std::path::{Path, PathBuf};

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{ListMakeWearRequest, ListMakeWearResponse, MakeWear};

use crate::commands::common::ListForm;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::file;
use crate::page;
use crate::render::{Form, Printer, svg, wear};

/// What `wear` takes.
#[derive(Args, Debug)]
pub(crate) struct Wear {
    /// Id of a pad make; without it every make that has pads
    #[arg(value_name = "MAKE", add = ArgValueCompleter::new(complete::makes))]
    pub(crate) make: Option<String>,
    #[command(flatten)]
    pub(crate) form: ListForm,
    /// Draw the curve of the make into this new SVG file too, for a sheet of A4
    #[arg(long, value_name = "FILE", requires = "make")]
    pub(crate) svg: Option<PathBuf>,
    /// Overwrite that file if it is there
    #[arg(long, requires = "svg")]
    pub(crate) force: bool,
}

/// Shows the wear.
pub(crate) async fn perform(
    session: &Session,
    args: &Wear,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    args.form.choose(printer);
    let answer = fetched(session, args).await?;
    if let Some(file) = &args.svg {
        draw(session, file, args.force, answer.wear.first())?;
        printer.say(&format!("The picture is in {}.", file.display()));
    }
    match answer.wear.as_slice() {
        [make] if args.make.is_some() && printer.form() == Form::Csv => {
            printer.list(&answer, &make.pads, |_, _| String::new())?;
        }
        [make] if args.make.is_some() => {
            printer.answer(&answer, |screen, _| wear::show(screen, make))?;
        }
        all => printer.list(&answer, all, wear::list)?,
    }
    Ok(Exit::Done)
}

async fn fetched(session: &Session, args: &Wear) -> Result<ListMakeWearResponse, Fault> {
    let asked = ListMakeWearRequest {
        make: args.make.clone().unwrap_or_default(),
        ..ListMakeWearRequest::default()
    };
    page::every(session, asked).await
}

/// Draws the picture of a make into a file.
fn draw(session: &Session, path: &Path, force: bool, make: Option<&MakeWear>) -> Result<(), Fault> {
    let make = make.ok_or_else(|| {
        Fault::usage(
            "--svg",
            "No pad of that make was ever in the kit; there is nothing to draw.",
        )
    })?;
    let day = session.now().strftime("%a %-d %b %Y").to_string();
    let picture = svg::picture(make, &day);
    file::write("--svg", path, force, &picture)
}

#[cfg(test)]
mod tests {
    use crate::args::Cli;
    use clap::Parser as _;

    #[test]
    fn a_picture_is_of_one_make() {
        let parsed = |line: &[&str]| Cli::try_parse_from(line).is_ok();
        assert!(parsed(&[
            "fettle",
            "wear",
            "coarse-foam-150",
            "--svg",
            "lives.svg"
        ]));
        assert!(!parsed(&["fettle", "wear", "--svg", "lives.svg"]));
        assert!(!parsed(&["fettle", "wear", "coarse-foam-150", "--force"]));
    }
}
