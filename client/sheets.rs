//! What a shop has set up and has in its kit, as files of comma-separated values in a folder.
//!
//! They are for spreadsheets, and for another book. Columns are the fields of the contract, so a field that is
//! added there is exported without a word here. Whether something makes sense is the service's to say; here only
//! what cannot be read is refused, by file, line and column.

use std::path::Path;

use fettlebook_contract::v1::{Car, Job, Make, Piece, Routine, Supplier};

use crate::columns::Decimals;
use crate::fault::{Fault, Problem};

mod diary;
mod kit;
pub(crate) mod lines;
pub(crate) mod own;
pub(crate) mod plan;
mod prices;
mod sheet;
mod table;

use sheet::Sheet;
use table::Source;

/// What is written beside the files.
pub(crate) const README: (&str, &str) = ("README.txt", include_str!("sheets/README.txt"));

/// The files, in the order in which they rest on one another.
pub(crate) const FILES: [&str; 7] = [
    "makes.csv",
    "cars.csv",
    "routines.csv",
    "suppliers.csv",
    "offers.csv",
    "kit.csv",
    "jobs.csv",
];

/// Something that was read, and where.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Read<T> {
    /// Line of its file, from 1.
    pub(crate) line: i64,
    /// Lines of what it holds, for each of its lists.
    pub(crate) within: Vec<Vec<i64>>,
    /// What was read.
    pub(crate) what: T,
}

impl<T> Read<T> {
    /// The same place, for something made of it.
    pub(crate) fn turned<U>(self, make: impl FnOnce(T) -> U) -> Read<U> {
        Read {
            line: self.line,
            within: self.within,
            what: make(self.what),
        }
    }

    /// The line of an item of a list.
    pub(crate) fn line_within(&self, list: usize, item: usize) -> i64 {
        let lines = self.within.get(list);
        let line = lines.and_then(|lines| lines.get(item));
        line.copied().unwrap_or(self.line)
    }
}

/// A piece with the day that goes with its state: when it was binned or set aside, else when it came.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Dated {
    /// ISO 8601 date; empty when it is not known.
    pub(crate) date: String,
    /// When it came, with the offset from UTC; empty when it is not known.
    pub(crate) came: String,
    /// The piece.
    pub(crate) piece: Piece,
}

/// What is written into the files.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Contents {
    /// Makes.
    pub(crate) makes: Vec<Make>,
    /// Cars, with the panels that differ from their class.
    pub(crate) cars: Vec<Car>,
    /// Routines.
    pub(crate) routines: Vec<Routine>,
    /// Suppliers with their price lists.
    pub(crate) suppliers: Vec<Supplier>,
    /// Pieces.
    pub(crate) kit: Vec<Dated>,
    /// Jobs.
    pub(crate) jobs: Vec<Job>,
}

/// What was read from the files.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Found {
    /// Makes.
    pub(crate) makes: Vec<Read<Make>>,
    /// Cars.
    pub(crate) cars: Vec<Read<Car>>,
    /// Routines.
    pub(crate) routines: Vec<Read<Routine>>,
    /// Suppliers, with the offers that their own file does not hold.
    pub(crate) suppliers: Vec<Read<Supplier>>,
    /// Offers, by the id of their supplier.
    pub(crate) offers: Vec<Read<prices::Offered>>,
    /// Pieces.
    pub(crate) kit: Vec<Read<Dated>>,
    /// Jobs.
    pub(crate) jobs: Vec<Read<Job>>,
}

/// The files, each with its name, text and number of things in it.
///
/// # Errors
/// When something cannot be written.
pub(crate) fn written(
    contents: &Contents,
    decimals: Decimals,
) -> Result<Vec<(&'static str, String, usize)>, Fault> {
    let [makes, cars, routines, suppliers, offers, kit, jobs] = FILES;
    let count = |suppliers: &[Supplier]| suppliers.iter().map(|one| one.offers.len()).sum();
    Ok(vec![
        (
            makes,
            make_sheet()?.written(&contents.makes, decimals)?,
            contents.makes.len(),
        ),
        (
            cars,
            car_sheet()?.written(&contents.cars, decimals)?,
            contents.cars.len(),
        ),
        (
            routines,
            routine_sheet()?.written(&contents.routines, decimals)?,
            contents.routines.len(),
        ),
        (
            suppliers,
            supplier_sheet()?.written(&contents.suppliers, decimals)?,
            contents.suppliers.len(),
        ),
        (
            offers,
            prices::written(&contents.suppliers, decimals)?,
            count(&contents.suppliers),
        ),
        (
            kit,
            kit::written(&contents.kit, decimals)?,
            contents.kit.len(),
        ),
        (
            jobs,
            diary::written(&contents.jobs, decimals)?,
            contents.jobs.len(),
        ),
    ])
}

/// Reads the files that are in a folder; one that is not there holds nothing.
///
/// # Errors
/// When none of them is there or one cannot be read at all; what is wrong in them is kept beside
/// what was read.
pub(crate) fn read(folder: &Path) -> Result<(Found, Vec<Problem>), Fault> {
    let mut source = Source::of(folder, &FILES)?;
    let [makes, cars, routines, suppliers, offers, kit, jobs] = FILES;
    let found = Found {
        makes: make_sheet()?.read(&mut source, makes)?,
        cars: car_sheet()?.read(&mut source, cars)?,
        routines: routine_sheet()?.read(&mut source, routines)?,
        suppliers: supplier_sheet()?.read(&mut source, suppliers)?,
        offers: prices::read(&mut source, offers)?,
        kit: kit::read(&mut source, kit)?,
        jobs: diary::read(&mut source, jobs)?,
    };
    Ok((found, source.problems))
}

/// The columns of the sheet of makes.
#[cfg(test)]
pub(crate) fn columns_of_makes() -> Result<Vec<String>, Fault> {
    let sheet = make_sheet()?;
    Ok(sheet.names().into_iter().map(str::to_owned).collect())
}

fn make_sheet() -> Result<Sheet<Make>, Fault> {
    Sheet::new(|_| true)
}

fn car_sheet() -> Result<Sheet<Car>, Fault> {
    // The service works these out.
    const OWN: [&str; 5] = [
        "panels.area_mm2",
        "panels.basis",
        "panels.usual_reach",
        "panels.lowest_film_um",
        "panels.above_caution_um",
    ];
    Sheet::new(|name| !OWN.contains(&name))
}

fn routine_sheet() -> Result<Sheet<Routine>, Fault> {
    Sheet::new(|_| true)
}

fn supplier_sheet() -> Result<Sheet<Supplier>, Fault> {
    // What deliveries have taught is the service's to say.
    Sheet::new(|name| {
        !matches!(
            name,
            "delivery_count" | "planned_lead_days" | "lead_sd_days"
        )
    })
}

#[cfg(test)]
mod tests;
