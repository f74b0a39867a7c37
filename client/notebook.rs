//! A notebook of pads as comma-separated values, read into rows of the contract.
//!
//! Every row is read and everything wrong is named by line and column; a cell that is unclear is never guessed
//! at. Whether a make exists or a tag is free is the service's to say.

use csv::{ReaderBuilder, StringRecord, Trim};
use fettlebook_contract::v1::{AsideReason, BinReason, PadRow, Readiness};
use fettlebook_quantity::parse_count;
use jiff::civil::Date;

use crate::columns::Decimals;
use crate::columns::cell::{decimal, excerpt};
use crate::fault::{Fault, Problem};
use crate::render::csv::{between, decimals_of, unguarded};
use crate::sheets::lines::Lines;
use crate::word;

/// Columns of a notebook, in the order of the template.
pub(crate) const COLUMNS: [&str; 9] = [
    "tag",
    "make",
    "place",
    "work_sections",
    "job_count",
    "wash_count",
    "readiness",
    "reason",
    "date",
];
/// What templates called some of them once.
const EARLIER: [(&str, &str); 4] = [
    ("work", "work_sections"),
    ("jobs", "job_count"),
    ("washes", "wash_count"),
    ("status", "readiness"),
];
/// Rows of one import, the contract's limit.
const ROWS_MAX: usize = 500;
/// A line whose first cell begins with this is an example or a remark.
const REMARK: char = '#';

/// A file to fill in. Its examples are remarks, so that it reads as an empty notebook.
pub(crate) const TEMPLATE: &str = "\
tag,make,place,work_sections,job_count,wash_count,readiness,reason,date
# invented: P-01,coarse-foam-150,van-a,41.5,,7,ready,,
# invented: P-02,coarse-foam-150,bench,,9,8,binned,worn,2026-10-02
";

/// Readings of `readiness`; a pad that is drying is soiled until it is dry.
const STATUSES: [Readiness; 4] = [
    Readiness::Ready,
    Readiness::Soiled,
    Readiness::Aside,
    Readiness::Binned,
];

/// Reads a notebook that is called `file` where something is wrong with it.
///
/// # Errors
/// Everything that is wrong, by line and column.
pub(crate) fn read(file: &str, text: &str) -> Result<Vec<PadRow>, Fault> {
    let decimals = decimals_of(text);
    let mut reader = ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .trim(Trim::All)
        .delimiter(between(decimals))
        .from_reader(text.as_bytes());
    let mut records = reader
        .records()
        .map(|record| record.map_err(|error| refused(file, &error.to_string())));
    let header = match records.next() {
        Some(header) => header?,
        None => return Err(refused(file, "it is empty")),
    };
    let mut sheet = Sheet {
        file,
        decimals,
        lines: Lines::of(text),
        header: Header::default(),
        problems: Vec::new(),
    };
    sheet.header(&header);
    if !sheet.problems.is_empty() {
        return Err(not_imported(file, sheet.problems));
    }
    let mut rows = Vec::new();
    for record in records {
        let record = record?;
        let remark = record.get(0).unwrap_or_default().starts_with(REMARK);
        // Spreadsheets put out lines of nothing but commas.
        if !remark && !record.iter().all(str::is_empty) {
            rows.push(sheet.row(&record));
        }
    }
    if !sheet.problems.is_empty() {
        return Err(not_imported(file, sheet.problems));
    }
    if rows.is_empty() {
        return Err(refused(file, "it has no pad below its header"));
    }
    if rows.len() > ROWS_MAX {
        let count = rows.len();
        return Err(refused(
            file,
            &format!("it has {count} pads and one import takes {ROWS_MAX}; split it"),
        ));
    }
    Ok(rows)
}

/// A file that cannot be read as a notebook at all.
fn refused(file: &str, why: &str) -> Fault {
    let mut fault = Fault::usage("--pads", format!("{file} cannot be imported: {why}."));
    fault.todo = "'fettle book import --template' prints a file to fill in.".to_owned();
    fault
}

/// A file with problems, each by its place.
pub(crate) fn not_imported(file: &str, problems: Vec<Problem>) -> Fault {
    let count = match problems.len() {
        1 => "one thing is".to_owned(),
        more => format!("{more} things are"),
    };
    let mut fault = Fault::usage(
        "--pads",
        format!("{count} wrong in {file}, and nothing was imported."),
    );
    fault.problems = problems.into_boxed_slice();
    fault
}

/// What a column is called that a template called otherwise once.
fn now_called(name: &str) -> &str {
    let mut earlier = EARLIER.iter();
    earlier
        .find(|(before, _)| name.eq_ignore_ascii_case(before))
        .map_or(name, |(_, now)| *now)
}

/// Where each column stands in the file.
#[derive(Default)]
struct Header {
    places: [Option<usize>; COLUMNS.len()],
    width: usize,
}

/// A file while it is read.
struct Sheet<'a> {
    file: &'a str,
    decimals: Decimals,
    lines: Lines<'a>,
    header: Header,
    problems: Vec<Problem>,
}

impl Sheet<'_> {
    fn problem(&mut self, line: i64, column: &str, text: String) {
        self.problems.push(Problem {
            file: self.file.to_owned(),
            line,
            column: column.to_owned(),
            text,
            todo: String::new(),
        });
    }

    /// Finds the columns; each must be there once, and no other.
    fn header(&mut self, header: &StringRecord) {
        let line = self.lines.line(header);
        self.header.width = header.len();
        for (place, name) in header.iter().enumerate() {
            let known = COLUMNS
                .iter()
                .position(|column| now_called(name).eq_ignore_ascii_case(column));
            let Some(slot) = known.and_then(|index| self.header.places.get_mut(index)) else {
                let shown = excerpt(name);
                self.problem(
                    line,
                    &shown,
                    format!(
                        "There is no such column; the columns are {}.",
                        COLUMNS.join(", ")
                    ),
                );
                continue;
            };
            if slot.replace(place).is_some() {
                self.problem(line, name, "The column is there twice.".to_owned());
            }
        }
        for (column, place) in COLUMNS.iter().zip(self.header.places) {
            if place.is_none() {
                let text = "The column is missing; a cell may be empty, a column may not.";
                self.problem(line, column, text.to_owned());
            }
        }
    }

    /// Reads one pad; what is wrong is kept, and the cell taken for empty.
    fn row(&mut self, record: &StringRecord) -> PadRow {
        let line = self.lines.line(record);
        if record.len() != self.header.width {
            let (cells, columns) = (record.len(), self.header.width);
            self.problem(
                line,
                "",
                format!("The line has {cells} cells and the header {columns}; see what stands between them, and its quotes."),
            );
            return PadRow::default();
        }
        let [tag, make, place, work, jobs, washes, stands, reason, date] =
            self.header.places.map(|place| {
                let cell = place.and_then(|place| record.get(place));
                unguarded(cell.unwrap_or_default())
            });
        let decimals = self.decimals;
        let mut row = PadRow {
            line,
            tag: tag.to_owned(),
            make: make.to_owned(),
            place: place.to_owned(),
            work_micro_sections: self.cell(line, "work_sections", work, |cell| {
                millionths(cell, decimals)
            }),
            job_count: self.cell(line, "job_count", jobs, whole),
            wash_count: self.cell(line, "wash_count", washes, whole).unwrap_or(0),
            date: self.cell(line, "date", date, day).unwrap_or_default(),
            ..PadRow::default()
        };
        let Some(readiness) = self.cell(line, "readiness", stands, readiness) else {
            // Without a readiness that is understood the words of the reason are not known either.
            if stands.is_empty() {
                self.reason(line, Readiness::Ready, reason, &mut row);
            }
            return row;
        };
        row.readiness = readiness.into();
        self.reason(line, readiness, reason, &mut row);
        row
    }

    /// Reads a cell; an empty one is nothing.
    fn cell<T>(
        &mut self,
        line: i64,
        column: &str,
        cell: &str,
        read: impl FnOnce(&str) -> Result<T, String>,
    ) -> Option<T> {
        if cell.is_empty() {
            return None;
        }
        match read(cell) {
            Ok(value) => Some(value),
            Err(text) => {
                self.problem(line, column, text);
                None
            }
        }
    }

    /// Reads why a pad is aside or was binned, by the words of how it stands.
    fn reason(&mut self, line: i64, readiness: Readiness, reason: &str, row: &mut PadRow) {
        match readiness {
            Readiness::Aside => {
                let read = self.cell(line, "reason", reason, one_of::<AsideReason>);
                row.aside_reason = read.unwrap_or_default().into();
            }
            Readiness::Binned => {
                let read = self.cell(line, "reason", reason, one_of::<BinReason>);
                row.bin_reason = read.unwrap_or_default().into();
            }
            Readiness::Unspecified | Readiness::Ready | Readiness::Soiled | Readiness::Drying => {
                if !reason.is_empty() {
                    let text = "A reason belongs to a pad that is aside or binned.";
                    self.problem(line, "reason", text.to_owned());
                }
            }
        }
    }
}

/// Reference sections as millionths, exactly.
fn millionths(cell: &str, decimals: Decimals) -> Result<i64, String> {
    let refused = || {
        let (example, sign) = match decimals {
            Decimals::Point => ("41.5", "a point"),
            Decimals::Comma => ("41,5", "a comma"),
        };
        format!(
            "'{}' is not a number of reference sections such as {example}, with {sign} and at most six \
             decimals.",
            excerpt(cell)
        )
    };
    let number = decimal(cell, decimals).ok_or_else(refused)?;
    let (whole, part) = number.split_once('.').unwrap_or((&number, "0"));
    if part.len() > 6 {
        return Err(refused());
    }
    format!("{whole}{part:0<6}").parse().map_err(|_| refused())
}

fn whole(cell: &str) -> Result<i64, String> {
    parse_count(cell)
        .map(fettlebook_quantity::Count::get)
        .map_err(|error| format!("{error}."))
}

fn day(cell: &str) -> Result<String, String> {
    let refused = || format!("'{}' is not a date such as 2026-10-02.", excerpt(cell));
    let day = cell.parse::<Date>().map_err(|_| refused())?.to_string();
    if day == cell { Ok(day) } else { Err(refused()) }
}

fn readiness(cell: &str) -> Result<Readiness, String> {
    let words = STATUSES.map(word::word);
    STATUSES
        .into_iter()
        .find(|status| word::word(*status) == cell)
        .ok_or_else(|| format!("'{}' is not one of {}.", excerpt(cell), words.join(", ")))
}

fn one_of<T: word::Worded>(cell: &str) -> Result<T, String> {
    word::find(cell)
        .ok_or_else(|| format!("'{}' is not one of {}.", excerpt(cell), word::list::<T>()))
}

/// The column of a notebook that a field of `PadRow` is read from.
pub(crate) fn column_of(field: &str) -> &str {
    match field {
        "work" | "work_micro_sections" => "work_sections",
        "jobs" => "job_count",
        "washes" => "wash_count",
        "status" => "readiness",
        "aside_reason" | "bin_reason" => "reason",
        other => other,
    }
}

#[cfg(test)]
mod tests;
