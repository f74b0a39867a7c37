//! Paper: what is printed, ticked, written on and hung up, as HTML that any browser prints.
//!
//! Each sheet is a template of its own on one ground, `ground.html`, which has the size of the paper and how all
//! sheets look: black on white, no row and no short job torn across pages. Invariant: every text is escaped by the
//! template engine, nothing is fetched from anywhere and no script runs.

pub(crate) mod check;
mod code;
pub(crate) mod cost;
pub(crate) mod kit;
pub(crate) mod labels;
pub(crate) mod pairing;
pub(crate) mod quote;
pub(crate) mod reorder;
mod size;
pub(crate) mod wear;

use std::path::PathBuf;

use clap::Args;
use minijinja::{Environment, UndefinedBehavior, Value, context};

use crate::connect::Session;
use crate::fault::Fault;
use crate::file;
use crate::render::tint::clean;
use crate::render::{Printer, Screen};
pub(crate) use size::Size;

/// The ground of every sheet, and a part that several have; their names end in `html`, by which the engine knows
/// how to escape.
const PARTS: [(&str, &str); 2] = [
    ("ground.html", include_str!("paper/ground.html")),
    ("costs.html", include_str!("paper/costs.html")),
];

/// The options of whatever is put on paper. What a command writes beside it, such as a picture, joins the group
/// `written`, for `--force` is of both.
#[derive(Args, Clone, Debug, Default)]
pub(crate) struct OnPaper {
    /// Write it into this new HTML file too, to print
    #[arg(long, value_name = "FILE", alias = "html", group = "written")]
    pub(crate) paper: Option<PathBuf>,
    /// Size of the paper: a4, a5 or letter; without it a4
    #[arg(long, value_name = "SIZE", requires = "paper", value_parser = Size::read)]
    pub(crate) size: Option<Size>,
    /// Overwrite that file if it is there
    #[arg(long, requires = "written")]
    pub(crate) force: bool,
}

impl OnPaper {
    /// Puts a sheet into the file that was named, and says so; does nothing where none was.
    ///
    /// # Errors
    /// When it cannot be laid out, or the file is there or cannot be written.
    pub(crate) fn put(
        &self,
        session: &Session,
        what: &str,
        printer: &mut Printer,
        sheet: impl FnOnce(&Ground<'_>) -> Result<String, Fault>,
    ) -> Result<(), Fault> {
        let Some(path) = &self.paper else {
            return Ok(());
        };
        let ground = Ground {
            screen: printer.screen(),
            size: self.size.unwrap_or_default(),
            made: session.now().strftime("%a %-d %b %Y %H:%M").to_string(),
        };
        let html = sheet(&ground)?;
        file::write("--paper", path, self.force, &html)?;
        let told = format!(
            "{what} is in {}: open it in a browser and print it.",
            path.display()
        );
        printer.remark(&printer.screen().hung("", "  ", &told));
        Ok(())
    }
}

/// What every sheet is laid out on.
#[derive(Clone, Debug)]
pub(crate) struct Ground<'a> {
    /// Whose clock it shows.
    pub(crate) screen: &'a Screen,
    /// The paper.
    pub(crate) size: Size,
    /// When it is made, which is as of when it is true.
    pub(crate) made: String,
}

impl Ground<'_> {
    /// A sheet from its template, which extends the ground, with what it tells.
    ///
    /// # Errors
    /// When it cannot be laid out.
    pub(crate) fn sheet(
        &self,
        template: (&str, &str),
        title: &str,
        told: Value,
    ) -> Result<String, Fault> {
        let told = context! {
            title => clean(title),
            made => clean(&self.made),
            page => self.size.of_page(),
            ..told
        };
        laid_out(template, told)
    }
}

/// What is made of a template.
fn laid_out(template: (&str, &str), told: Value) -> Result<String, Fault> {
    let laid_out = || {
        let mut engine = Environment::new();
        engine.set_undefined_behavior(UndefinedBehavior::SemiStrict);
        for (name, part) in PARTS {
            engine.add_template(name, part)?;
        }
        engine.render_named_str(template.0, template.1, told)
    };
    laid_out().map_err(|_| Fault::answer("a sheet that can be laid out"))
}

/// Texts of one line each, cleaned.
fn cleaned(texts: &[String]) -> Value {
    texts.iter().map(|text| clean(text)).collect()
}

#[cfg(test)]
mod tests;
