//! `labels [TAG..] [--new]`: labels with tag, name and code, as sheets to print.
//!
//! The book remembers of which pieces some were printed, once the file is written; without tags and --new it
//! lists those of which none was. Where it was said where the page at the bench is, the codes open the piece there.

use std::path::{Path, PathBuf};

use clap::Args;
use clap_complete::ArgValueCompleter;
use fettlebook_contract::page;
use fettlebook_contract::v1::{
    GetPieceRequest, ListPiecesRequest, ListPiecesResponse, MarkLabelledRequest, Piece,
};
use fettlebook_quantity::{Count, parse_count};

use crate::commands::common::record;
use crate::complete;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::file;
use crate::page::every;
use crate::page_kept::{PageKept, Said, is_number};
use crate::paper::labels::{self, LabelSize, Sticker, Stock};
use crate::render::screen::several;
use crate::render::{Printer, tags::ranges};
use crate::request;
use crate::tags::{self, All};

/// Most labels at once: as many pieces as one entry names.
const LABELS_MAX: usize = 500;
/// Numbered names that are tried for a file that nobody named.
const NAMES_MAX: u32 = 999;

/// What `labels` takes.
#[derive(Args, Debug)]
pub(crate) struct Labels {
    /// Pieces to print labels for: P-01..P-09, P1,P2, pads, all; without any a list of those that have none
    #[arg(value_name = "TAG", conflicts_with = "new", add = ArgValueCompleter::new(complete::ranges))]
    pub(crate) tags: Vec<String>,
    /// For all pieces of which no label was printed yet
    #[arg(long)]
    pub(crate) new: bool,
    /// Size of a label in mm: 70x36, 24 on a sheet of A4, or 38x21, 65 on one, or any with --one-a-page; without it
    /// 70x36, or 57x32 one a page
    #[arg(long, value_name = "SIZE", value_parser = LabelSize::read)]
    pub(crate) size: Option<LabelSize>,
    /// One label a page, for a label printer
    #[arg(long)]
    pub(crate) one_a_page: bool,
    /// Places of the first sheet that are used already, row by row
    #[arg(long, value_name = "COUNT", value_parser = parse_count, conflicts_with = "one_a_page")]
    pub(crate) skip: Option<Count>,
    /// Have the codes open the piece on the page at the bench, there: bench.example:7420; remembered for later labels
    /// until another is given, or none. A telephone reaches the page at this address
    #[arg(long, value_name = "HOST:PORT", value_parser = Said::read)]
    pub(crate) page: Option<Said>,
    /// Write them into this new HTML file; without it labels.html here, or the next such name that is free
    #[arg(long, value_name = "FILE", alias = "html")]
    pub(crate) paper: Option<PathBuf>,
    /// Write them into this new SVG file instead, further sheets into FILE-2, FILE-3 and so on
    #[arg(long, value_name = "FILE", conflicts_with = "paper")]
    pub(crate) svg: Option<PathBuf>,
    /// Overwrite what is there
    #[arg(long)]
    pub(crate) force: bool,
}

/// Prints labels, or lists what has none.
pub(crate) async fn perform(
    session: &Session,
    args: &Labels,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let stock = args.stock()?;
    let skipped = args.skipped(&stock)?;
    let pieces = if args.tags.is_empty() {
        new(session).await?
    } else {
        named(session, &args.tags, printer).await?
    };
    if args.tags.is_empty() && (!args.new || pieces.is_empty()) {
        return listed(pieces, printer);
    }
    let all = pieces.len();
    let pieces = pieces.get(..all.min(LABELS_MAX)).unwrap_or_default();
    let kept = PageKept::of(session);
    let page = match &args.page {
        Some(Said::At(address)) => Some(address.clone()),
        Some(Said::Nowhere) => None,
        None => kept.address(),
    };
    let addresses: Vec<Option<String>> = pieces
        .iter()
        .map(|piece| Some(page::piece(page.as_ref()?, &piece.tag)))
        .collect();
    let stickers = pieces.iter().zip(&addresses);
    let stickers = stickers.map(|(piece, address)| Sticker {
        tag: &piece.tag,
        address: address.as_deref(),
        name: &piece.make_name,
    });
    let stickers: Vec<Sticker<'_>> = stickers.collect();
    let pictures = labels::pictures(&stock, &stickers, skipped);
    let file = args.write(&stock, &pictures)?;
    let counted =
        |count: usize, one, many| several(i64::try_from(count).unwrap_or(i64::MAX), one, many);
    printer.remark(&format!(
        "{} on {} in {file}: print at 100 %, without fitting to the page.",
        counted(stickers.len(), "label", "labels"),
        counted(pictures.len(), "page", "pages"),
    ));
    if let Some(said) = &args.page
        && let Err(error) = kept.keep(said)
    {
        printer.say(&format!(
            "Where the page is could not be remembered: {error}."
        ));
    }
    if let Some(page) = &page {
        printer.say(&printer.screen().hung("", "  ", &opens(page)));
    }
    if all > pieces.len() {
        let more = counted(
            all.saturating_sub(pieces.len()),
            "more piece",
            "more pieces",
        );
        printer.say(&format!(
            "{more} without a label: run 'fettle labels --new' again."
        ));
    }
    let asked = MarkLabelledRequest {
        request_id: request::new_id(),
        tags: pieces.iter().map(|piece| piece.tag.clone()).collect(),
        ..MarkLabelledRequest::default()
    };
    record(session, printer, asked).await
}

/// What the codes do, and what has to stay as it is for that.
fn opens(page: &str) -> String {
    let mut told = format!(
        "The codes open the piece on the page, {page} ('fettle labels --page none' has them hold the tag alone)."
    );
    if is_number(page) {
        told.push_str(
            " They lead nowhere once that machine has another address: have the network always give it this \
             one, or name it by a name.",
        );
    }
    told
}

impl Labels {
    fn stock(&self) -> Result<Stock, Fault> {
        if self.one_a_page {
            return Ok(Stock::single(self.size.unwrap_or(LabelSize::SINGLE)));
        }
        Stock::sheet(self.size.unwrap_or(LabelSize::LARGE)).ok_or_else(|| {
            let mut fault = Fault::usage(
                "--size",
                "There is no sheet of A4 with labels of that size.",
            );
            fault.todo =
                "Sheets are of 70x36 or 38x21; with --one-a-page a label may have any size."
                    .to_owned();
            fault
        })
    }

    /// Places of the first sheet that stay free.
    fn skipped(&self, stock: &Stock) -> Result<usize, Fault> {
        let skip = self.skip.map_or(0, Count::get);
        let skip = usize::try_from(skip).unwrap_or(usize::MAX);
        if skip < stock.places() {
            return Ok(skip);
        }
        let places = stock.places();
        Err(Fault::usage(
            "--skip",
            format!("A sheet has {places} places; skip fewer than that, or take a new sheet."),
        ))
    }

    /// Writes the sheets, and says where.
    fn write(&self, stock: &Stock, pictures: &[String]) -> Result<String, Fault> {
        let Some(first) = &self.svg else {
            let path = match &self.paper {
                Some(path) => path.clone(),
                None => free_name()?,
            };
            let page = labels::html(stock, pictures)?;
            file::write("--paper", &path, self.force, &page)?;
            return Ok(path.display().to_string());
        };
        let mut paths = Vec::with_capacity(pictures.len());
        for number in 1..=pictures.len() {
            paths.push(numbered(first, number));
        }
        // All or none: nothing is written while one of them is in the way.
        for path in paths.iter().filter(|path| !self.force && path.exists()) {
            file::write("--svg", path, false, "")?;
        }
        for (path, picture) in paths.iter().zip(pictures) {
            file::write("--svg", path, self.force, &labels::file_of(picture))?;
        }
        let names = paths.iter().map(|path| path.display().to_string());
        Ok(names.collect::<Vec<_>>().join(", "))
    }
}

/// `labels.svg`, `labels-2.svg` and so on.
fn numbered(first: &Path, number: usize) -> PathBuf {
    if number == 1 {
        return first.to_owned();
    }
    let stem = first.file_stem().unwrap_or_default().to_string_lossy();
    let end = first
        .extension()
        .map(|end| format!(".{}", end.to_string_lossy()));
    first.with_file_name(format!("{stem}-{number}{}", end.unwrap_or_default()))
}

/// The first name of `labels.html`, `labels-2.html` and so on that is free here.
fn free_name() -> Result<PathBuf, Fault> {
    let names = (1..=NAMES_MAX).map(|number| match number {
        1 => PathBuf::from("labels.html"),
        more => PathBuf::from(format!("labels-{more}.html")),
    });
    let mut free = names.filter(|name| !name.exists());
    free.next().ok_or_else(|| {
        Fault::usage(
            "--paper",
            "Every name from labels.html on is taken here; name a file.",
        )
    })
}

/// The pieces of which no label was printed, in the order of their tags.
async fn new(session: &Session) -> Result<Vec<Piece>, Fault> {
    let mut pieces = every(session, ListPiecesRequest::default()).await?.pieces;
    pieces.retain(|piece| piece.labelled_time.is_none());
    pieces.sort_by(|one, other| {
        let order = crate::render::tags::order;
        order(&one.tag).cmp(&order(&other.tag))
    });
    Ok(pieces)
}

/// The pieces that were named, in that order.
async fn named(
    session: &Session,
    words: &[String],
    printer: &mut Printer,
) -> Result<Vec<Piece>, Fault> {
    let tags = tags::named(session, words, All::Kit, printer).await?;
    if tags.len() > LABELS_MAX {
        return Err(Fault::usage(
            "TAG",
            format!("These are more than {LABELS_MAX} labels at once; name fewer pieces."),
        ));
    }
    let asked = ListPiecesRequest {
        show_binned: true,
        ..ListPiecesRequest::default()
    };
    let kit = every(session, asked).await?.pieces;
    let mut pieces = Vec::with_capacity(tags.len());
    for tag in tags {
        let found = kit.iter().find(|piece| piece.tag == tag);
        let piece = match found {
            Some(piece) => Some(piece.clone()),
            // The service says what is wrong with it.
            None => session.call(GetPieceRequest { tag }).await?.piece,
        };
        pieces.push(piece.ok_or_else(|| Fault::answer("the piece"))?);
    }
    Ok(pieces)
}

/// Tells which pieces have no label.
fn listed(pieces: Vec<Piece>, printer: &mut Printer) -> Result<Exit, Fault> {
    let answer = ListPiecesResponse {
        pieces,
        ..ListPiecesResponse::default()
    };
    printer.answer(&answer, |screen, answer| {
        let tags: Vec<&str> = answer
            .pieces
            .iter()
            .map(|piece| piece.tag.as_str())
            .collect();
        let told = if tags.is_empty() {
            "A label of every piece was printed. 'fettle labels P-07' prints one again.".to_owned()
        } else {
            format!(
                "No label was printed yet of {}. 'fettle labels --new' prints them.",
                ranges(&tags)
            )
        };
        screen.hung("", "  ", &told)
    })?;
    Ok(Exit::Done)
}

/// How to mark pieces that came in with tags of the book's giving; nothing where their tags were on them.
pub(crate) fn to_write(pieces: &[Piece], given: &[String]) -> Option<String> {
    let tags: Vec<&str> = pieces
        .iter()
        .map(|piece| piece.tag.as_str())
        .filter(|tag| !given.iter().any(|given| given == tag))
        .collect();
    (!tags.is_empty()).then(|| {
        let what = if tags.len() == 1 { "it" } else { "them" };
        format!(
            "Write {} on {what}, or print labels: fettle labels --new",
            ranges(&tags)
        )
    })
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use clap::Parser as _;
    use fettlebook_contract::v1::Piece;

    use super::{numbered, to_write};
    use crate::args::Cli;

    #[test]
    fn further_sheets_get_names_of_their_own() {
        let names = |first: &str| [1, 2].map(|number| numbered(Path::new(first), number));
        assert_eq!(names("a/b.svg"), ["a/b.svg", "a/b-2.svg"].map(Path::new));
        assert_eq!(names("b"), ["b", "b-2"].map(Path::new));
    }

    #[test]
    fn what_came_in_is_marked_by_hand_or_by_print_unless_its_tags_are_on_it() {
        let pieces: Vec<Piece> = ["P-12", "P-13", "P-14"]
            .map(|tag| Piece {
                tag: tag.to_owned(),
                ..Piece::default()
            })
            .to_vec();
        assert_eq!(
            to_write(&pieces, &[]).unwrap(),
            "Write P-12…P-14 on them, or print labels: fettle labels --new"
        );
        assert!(to_write(&pieces[..1], &[]).unwrap().contains("P-12 on it,"));
        let given = ["P-12", "P-13", "P-14"].map(str::to_owned);
        assert_eq!(to_write(&pieces, &given), None);
    }

    #[test]
    fn labels_are_of_named_pieces_or_of_the_new_ones_and_one_sort_of_file() {
        let parsed = |words: &[&str]| {
            let line = ["fettle", "labels"].iter().chain(words);
            Cli::try_parse_from(line).is_ok()
        };
        assert!(parsed(&[]) && parsed(&["--new"]) && parsed(&["P-01..P-09", "P-12"]));
        assert!(parsed(&[
            "--new", "--size", "38x21", "--skip", "7", "--svg", "l.svg"
        ]));
        assert!(parsed(&["--new", "--one-a-page", "--size", "54x25"]));
        assert!(!parsed(&["P-01", "--new"]));
        assert!(!parsed(&["--new", "--svg", "a", "--paper", "b"]));
        assert!(!parsed(&["--new", "--one-a-page", "--skip", "2"]));
        assert!(!parsed(&["--new", "--size", "large"]));
        assert!(parsed(&["--new", "--page", "bench.example"]));
        assert!(!parsed(&["--new", "--page", "localhost"]));
    }
}
