//! `book export --to DIR`: writes what the shop has set up and has in its kit into files.
//!
//! It serves spreadsheets and another book. Everything is fetched before the first file is written.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry as Slot;
use std::path::{Path, PathBuf};

use clap::Args;
use fettlebook_contract::v1::{
    Car, DeedKind, Entry, GetEntryRequest, Job, ListCarsRequest, ListJobsRequest,
    ListPiecesRequest, ListRoutinesRequest, Piece, Readiness, Routine,
};
use jiff::Timestamp;
use serde_json::json;

use crate::columns::Decimals;
use crate::columns::cell::clock;
use crate::commands::car::panels::differing;
use crate::commands::make;
use crate::commands::supplier;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::Fault;
use crate::file;
use crate::file::holds_something;
use crate::page;
use crate::render::{Form, Printer, folder};
use crate::sheets::{self, Contents, Dated};

const FORMS: &str = "\
It writes makes.csv, cars.csv, routines.csv, suppliers.csv, offers.csv, kit.csv and jobs.csv,
and a README.txt that says what their columns are. Each has one row a thing; the panels of a car,
the steps of a routine and the prices of an offer take further rows that repeat its id.";

/// What `book export` takes.
#[derive(Args, Debug)]
#[command(after_help = FORMS)]
pub(crate) struct Export {
    /// Folder to write into; a new or an empty one
    #[arg(long, value_name = "DIR")]
    pub(crate) to: PathBuf,
    /// Write into a folder that holds something, over the files of an export
    #[arg(long)]
    pub(crate) force: bool,
    /// Commas before decimals and semicolons between cells, as spreadsheets of many countries want it
    #[arg(long)]
    pub(crate) decimal_comma: bool,
}

/// Writes the files.
pub(crate) async fn perform(
    session: &Session,
    args: &Export,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let contents = contents(session).await?;
    let decimals = if args.decimal_comma {
        Decimals::Comma
    } else {
        Decimals::Point
    };
    let files = sheets::written(&contents, decimals)?;
    let readme = std::iter::once(sheets::README);
    let texts = readme.chain(files.iter().map(|(name, text, _)| (*name, text.as_str())));
    put_down(&args.to, args.force, texts)?;
    let counts: Vec<_> = files
        .iter()
        .map(|(name, _, count)| (*name, *count))
        .collect();
    let place = args.to.display().to_string();
    match printer.form() {
        Form::Json => {
            let files = counts
                .iter()
                .map(|(name, count)| json!({ "file": name, "count": count }));
            let files: Vec<_> = files.collect();
            printer.document(&json!({ "folder": place, "files": files }));
        }
        Form::People | Form::Csv => {
            let text = folder::exported(printer.screen(), &place, &counts);
            printer.page(&text);
        }
    }
    Ok(Exit::Done)
}

/// Writes the files into the folder; when it returns they survive loss of power.
fn put_down<'a>(
    folder: &Path,
    force: bool,
    files: impl Iterator<Item = (&'a str, &'a str)>,
) -> Result<(), Fault> {
    prepare(folder, force)?;
    for (name, text) in files {
        file::write("--to", &folder.join(name), force, text)?;
    }
    let synced = file::sync_folder(folder);
    synced.map_err(|error| Fault::file(&folder.display().to_string(), &error))
}

/// Makes the folder ready to be written into.
fn prepare(folder: &Path, force: bool) -> Result<(), Fault> {
    let shown = folder.display().to_string();
    if !force && holds_something(folder) {
        let mut fault = Fault::usage("--to", format!("{shown} is not empty."));
        fault.todo = "Name a new folder, or write into this one with --force.".to_owned();
        return Err(fault);
    }
    file::make_folder(folder).map_err(|error| Fault::file(&shown, &error))
}

/// Everything that is written.
async fn contents(session: &Session) -> Result<Contents, Fault> {
    Ok(Contents {
        makes: make::all(session).await?.makes,
        cars: cars(session).await?,
        routines: routines(session).await?,
        suppliers: supplier::all(session).await?.suppliers,
        kit: dated(session, kit(session).await?).await?,
        jobs: jobs(session).await?,
    })
}

/// The cars with the panels that differ from their class.
pub(super) async fn cars(session: &Session) -> Result<Vec<Car>, Fault> {
    let answer = page::every(session, ListCarsRequest::default()).await?;
    let told = answer.cars.into_iter().map(|car| Car {
        panels: differing(car.panels),
        ..car
    });
    Ok(told.collect())
}

/// The routines.
pub(super) async fn routines(session: &Session) -> Result<Vec<Routine>, Fault> {
    let answer = page::every(session, ListRoutinesRequest::default()).await?;
    Ok(answer.routines)
}

/// The jobs.
pub(super) async fn jobs(session: &Session) -> Result<Vec<Job>, Fault> {
    let answer = page::every(session, ListJobsRequest::default()).await?;
    Ok(answer.jobs)
}

/// Every piece, binned ones too.
pub(super) async fn kit(session: &Session) -> Result<Vec<Piece>, Fault> {
    let asked = ListPiecesRequest {
        show_binned: true,
        ..ListPiecesRequest::default()
    };
    let answer = page::every(session, asked).await?;
    Ok(answer.pieces)
}

/// Pieces with their days; the entry that binned or set aside many is read once.
async fn dated(session: &Session, pieces: Vec<Piece>) -> Result<Vec<Dated>, Fault> {
    let mut entries: BTreeMap<i64, Option<Entry>> = BTreeMap::new();
    let mut kit = Vec::new();
    for piece in pieces {
        let last = match piece.readiness() {
            Readiness::Binned | Readiness::Aside => {
                let known = match entries.entry(piece.last_seq) {
                    Slot::Occupied(known) => known.into_mut(),
                    Slot::Vacant(slot) => slot.insert(entry(session, piece.last_seq).await?),
                };
                known.as_ref()
            }
            _ => None,
        };
        let date = day_of(session, &piece, last);
        let came = piece.received_time.as_ref();
        let zone = session.now().time_zone().clone();
        let came = came.and_then(|stamp| clock(stamp.seconds, stamp.nanos, &zone));
        kit.push(Dated {
            date,
            came: came.unwrap_or_default(),
            piece,
        });
    }
    Ok(kit)
}

async fn entry(session: &Session, seq: i64) -> Result<Option<Entry>, Fault> {
    let answer = session.call(GetEntryRequest { seq }).await?;
    Ok(answer.entry)
}

/// The day that goes with the state of a piece, where the person is.
fn day_of(session: &Session, piece: &Piece, last: Option<&Entry>) -> String {
    // A pad taken over from a notebook came in binned, on the day it was.
    let came = |entry: &&Entry| {
        let mut deeds = entry.deeds.iter();
        deeds.any(|deed| deed.subject == piece.tag && deed.kind() == DeedKind::Received)
    };
    let last = last.filter(|entry| !came(entry));
    let stamp = last
        .and_then(|entry| entry.done_time.as_ref())
        .or(piece.received_time.as_ref());
    let moment = stamp.and_then(|stamp| Timestamp::new(stamp.seconds, stamp.nanos).ok());
    moment.map_or_else(String::new, |moment| {
        let zone = session.now().time_zone().clone();
        moment.to_zoned_datetime(zone).date().to_string()
    })
}

#[cfg(test)]
mod tests {
    use super::{prepare, put_down};
    use crate::file;
    use std::fs;

    #[test]
    fn a_folder_that_holds_something_is_written_into_only_by_force() {
        let folder = tempfile::tempdir().unwrap();
        let new = folder.path().join("a").join("b");
        prepare(&new, false).unwrap();
        assert!(new.is_dir());
        prepare(&new, false).unwrap();
        fs::write(new.join("notes.txt"), "kept").unwrap();
        let fault = prepare(&new, false).unwrap_err();
        assert_eq!((&*fault.field, fault.exit.code()), ("--to", 2));
        prepare(&new, true).unwrap();
        assert_eq!(fs::read_to_string(new.join("notes.txt")).unwrap(), "kept");
    }

    #[test]
    fn what_is_written_outlives_a_loss_of_power_under_its_name() {
        let place = tempfile::tempdir().unwrap();
        let folder = place.path().join("sheets");
        file::synced::take();
        put_down(&folder, false, std::iter::once(("kit.csv", "tag"))).unwrap();
        assert_eq!(file::synced::take(), [place.path(), folder.as_path()]);
        assert_eq!(fs::read_to_string(folder.join("kit.csv")).unwrap(), "tag");
    }
}
