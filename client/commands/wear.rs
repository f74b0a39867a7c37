//! `wear [MAKE]`: how worn the kit is, what pad makes really last in this shop, and what will have to be replaced.
//!
//! It serves buying, quoting and the wall of the workshop. It works nothing out: the curve, the ranges, the
//! budget and the sentences are the service's.

use std::path::{Path, PathBuf};

use clap::{ArgGroup, Args};
use clap_complete::ArgValueCompleter;
use fettlebook_contract::v1::{
    GetKitBudgetRequest, GetKitBudgetResponse, ListMakeWearRequest, ListMakeWearResponse,
    ListPieceWearRequest, ListPieceWearResponse, MakeSort, MakeWear,
};
use serde_json::json;

use crate::commands::common::ListForm;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::file;
use crate::json::to_value;
use crate::page;
use crate::paper::{self, Ground, OnPaper};
use crate::render::{Form, Printer, Screen, budget, clocks, svg, wear};

/// What is said where a file was asked for of a make that never had a pad.
const NO_PAD: &str =
    "No pad of that make was ever in the kit; there is nothing to draw or to tell.";

/// What `wear` takes.
#[derive(Args, Debug)]
#[command(group(ArgGroup::new("written").multiple(true)))]
pub(crate) struct Wear {
    /// Id of a make of pads, plates, machines, towels or batteries; without it the whole kit at a glance
    #[arg(value_name = "MAKE", add = ArgValueCompleter::new(complete::makes))]
    pub(crate) make: Option<String>,
    #[command(flatten)]
    pub(crate) form: ListForm,
    /// Every pad, plate, machine, bundle of towels and battery by its own clock
    #[arg(long, conflicts_with_all = ["make", "budget", "svg"])]
    pub(crate) pieces: bool,
    /// What will have to be replaced in the next 4, 8 and 12 weeks, a line a make, and what that costs
    #[arg(long, conflicts_with_all = ["make", "svg"])]
    pub(crate) budget: bool,
    /// Draw the curve of the make into this new SVG file too, for a sheet of A4
    #[arg(long, value_name = "FILE", requires = "make", group = "written")]
    pub(crate) svg: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) paper: OnPaper,
}

/// Shows the wear.
pub(crate) async fn perform(
    session: &Session,
    args: &Wear,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    args.form.choose(printer);
    if args.budget {
        let answer = session.call(GetKitBudgetRequest {}).await?;
        let sheet = |ground: &Ground<'_>| paper::wear::ahead(ground, &answer);
        args.paper.put(session, "The budget", printer, sheet)?;
        printer.list(&answer, &answer.lines, |screen, _| {
            budget::show(screen, &answer)
        })?;
        return Ok(Exit::Done);
    }
    let Some(make) = &args.make else {
        return everything(session, args, printer).await;
    };
    let clocked = pieces(session, make).await?;
    let is_pad = |sort: MakeSort| sort == MakeSort::Pad;
    if args.svg.is_none()
        && clocked
            .pieces
            .first()
            .is_some_and(|one| !is_pad(one.sort()))
    {
        each_on_paper(session, args, &clocked, printer)?;
        printer.list(&clocked, &clocked.pieces, clocks::list)?;
        return Ok(Exit::Done);
    }
    one(session, args, make, printer).await?;
    Ok(Exit::Done)
}

/// The whole kit: every piece, or makes and what will have to be replaced.
async fn everything(session: &Session, args: &Wear, printer: &mut Printer) -> Result<Exit, Fault> {
    if args.pieces {
        let answer = pieces(session, "").await?;
        each_on_paper(session, args, &answer, printer)?;
        printer.list(&answer, &answer.pieces, clocks::list)?;
        return Ok(Exit::Done);
    }
    let makes = pads(session, "").await?;
    if printer.form() == Form::Csv && args.paper.paper.is_none() {
        printer.list(&makes, &makes.wear, wear::list)?;
        return Ok(Exit::Done);
    }
    let pieces = pieces(session, "").await?;
    let ahead = session.call(GetKitBudgetRequest {}).await?;
    let sheet =
        |ground: &Ground<'_>| paper::wear::at_a_glance(ground, &makes.wear, &pieces.pieces, &ahead);
    args.paper.put(session, "The wear", printer, sheet)?;
    if printer.form() == Form::Csv {
        printer.list(&makes, &makes.wear, wear::list)?;
        return Ok(Exit::Done);
    }
    if printer.form() == Form::Json {
        printer.document(&json!({
            "wear": makes.wear.iter().map(to_value).collect::<Result<Vec<_>, _>>()?,
            "pieces": pieces.pieces.iter().map(to_value).collect::<Result<Vec<_>, _>>()?,
            "budget": to_value(&ahead)?,
        }));
        return Ok(Exit::Done);
    }
    let page = at_a_glance(printer.screen(), &makes, &pieces, &ahead);
    printer.page(&page);
    Ok(Exit::Done)
}

/// Puts each piece on paper, where that was asked for.
fn each_on_paper(
    session: &Session,
    args: &Wear,
    answer: &ListPieceWearResponse,
    printer: &mut Printer,
) -> Result<(), Fault> {
    let make = args.make.as_deref().unwrap_or_default();
    let sheet = |ground: &Ground<'_>| paper::wear::each_piece(ground, make, &answer.pieces);
    args.paper.put(session, "The wear", printer, sheet)
}

fn at_a_glance(
    screen: &Screen,
    makes: &ListMakeWearResponse,
    pieces: &ListPieceWearResponse,
    ahead: &GetKitBudgetResponse,
) -> String {
    if pieces.pieces.is_empty() && makes.wear.is_empty() {
        return wear::list(screen, &makes.wear);
    }
    let mut blocks = Vec::new();
    if !makes.wear.is_empty() {
        blocks.push(wear::list(screen, &makes.wear));
    }
    blocks.push(clocks::by_make(screen, &pieces.pieces));
    blocks.push(budget::totals(screen, ahead));
    let more = "Each piece: fettle wear --pieces. The budget by make: fettle wear --budget";
    blocks.push(screen.hung("", "  ", more));
    blocks.retain(|block| !block.is_empty());
    blocks.join("\n\n")
}

/// One pad make.
async fn one(
    session: &Session,
    args: &Wear,
    make: &str,
    printer: &mut Printer,
) -> Result<(), Fault> {
    let answer = pads(session, make).await?;
    if let Some(file) = &args.svg {
        draw(session, file, args.paper.force, answer.wear.first())?;
        printer.remark(&format!("The picture is in {}.", file.display()));
    }
    if let Some(make) = answer.wear.first() {
        let sheet = |ground: &Ground<'_>| paper::wear::of_pads(ground, make);
        args.paper.put(session, "The wear", printer, sheet)?;
    } else if args.paper.paper.is_some() {
        return Err(Fault::usage("--paper", NO_PAD));
    }
    match answer.wear.as_slice() {
        [make] if printer.form() == Form::Csv => {
            printer.list(&answer, &make.pads, |_, _| String::new())
        }
        [make] => printer.answer(&answer, |screen, _| wear::show(screen, make)),
        all => printer.list(&answer, all, wear::list),
    }
}

async fn pads(session: &Session, make: &str) -> Result<ListMakeWearResponse, Fault> {
    let asked = ListMakeWearRequest {
        make: make.to_owned(),
        ..ListMakeWearRequest::default()
    };
    page::every(session, asked).await
}

async fn pieces(session: &Session, make: &str) -> Result<ListPieceWearResponse, Fault> {
    let asked = ListPieceWearRequest {
        make: make.to_owned(),
        ..ListPieceWearRequest::default()
    };
    page::every(session, asked).await
}

/// Draws the picture of a make into a file.
fn draw(session: &Session, path: &Path, force: bool, make: Option<&MakeWear>) -> Result<(), Fault> {
    let make = make.ok_or_else(|| Fault::usage("--svg", NO_PAD))?;
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
        assert!(!parsed(&["fettle", "wear", "coarse-foam-150", "--pieces"]));
        assert!(!parsed(&["fettle", "wear", "--pieces", "--budget"]));
        assert!(parsed(&["fettle", "wear", "--budget", "--csv"]));
    }

    #[test]
    fn what_is_overwritten_is_the_picture_or_the_sheet_or_both() {
        let parsed = |words: &str| Cli::try_parse_from(words.split(' ')).is_ok();
        for words in [
            "fettle wear coarse-foam-150 --svg lives.svg --force",
            "fettle wear --paper wear.html --force",
            "fettle wear --pieces --paper wear.html --size a5 --force",
            "fettle wear --budget --paper wear.html",
            "fettle wear coarse-foam-150 --svg lives.svg --paper wear.html --force",
            "fettle check --paper check.html --force",
        ] {
            assert!(parsed(words), "{words}");
        }
        for words in [
            "fettle wear --force",
            "fettle wear coarse-foam-150 --svg lives.svg --size a5",
            "fettle check --force",
        ] {
            assert!(!parsed(words), "{words}");
        }
    }
}
