//! A file of comma-separated values as lines of named cells, and everything wrong with it.
//!
//! A column may be missing and a cell may be empty; a column that nobody knows is refused, because it is most
//! likely misspelt. Cells are parted by commas, or by semicolons where commas stand before decimals.

use std::fs;
use std::path::{Path, PathBuf};

use csv::{ReaderBuilder, StringRecord, Trim};

use super::lines::Lines;
use crate::columns::Decimals;
use crate::columns::cell::excerpt;
use crate::commands::common::read_text;
use crate::fault::{Fault, Problem};
use crate::render::csv::{between, decimals_of, unguarded};

/// How a file is to be saved.
const HOW: &str = "save it as CSV in UTF-8";

/// A folder of files while they are read.
pub(super) struct Source {
    folder: PathBuf,
    /// Everything wrong so far.
    pub(super) problems: Vec<Problem>,
}

/// The columns of a file.
pub(super) struct Columns<'a> {
    /// Those that are read.
    pub(super) wanted: &'a [&'a str],
    /// Those of them that must be there.
    pub(super) needed: &'a [&'a str],
    /// Those that may be there and are not read.
    pub(super) passed_over: &'a [String],
}

/// One line below the header.
pub(super) struct Row {
    /// Line of the file, from 1.
    pub(super) line: i64,
    /// Cells by the order of the columns that were asked for; empty where there is none.
    pub(super) cells: Vec<String>,
}

impl Source {
    /// A folder in which at least one of the files is there.
    ///
    /// # Errors
    /// When none is, or the folder cannot be read.
    pub(super) fn of(folder: &Path, files: &[&str]) -> Result<Self, Fault> {
        let shown = folder.display().to_string();
        fs::read_dir(folder).map_err(|error| Fault::file(&shown, &error))?;
        if !files.iter().any(|file| folder.join(file).exists()) {
            return Err(Fault::usage(
                "--from",
                format!(
                    "{shown} holds none of the files of an export: {}.",
                    files.join(", ")
                ),
            ));
        }
        Ok(Self {
            folder: folder.to_path_buf(),
            problems: Vec::new(),
        })
    }

    /// Keeps something that is wrong.
    pub(super) fn wrong(&mut self, file: &str, line: i64, column: &str, text: String) {
        self.problems.push(Problem {
            file: file.to_owned(),
            line,
            column: column.to_owned(),
            text,
            todo: String::new(),
        });
    }

    /// The lines of a file by its columns, and how its decimals are written; none when there is no such file.
    ///
    /// # Errors
    /// When the file cannot be read as text.
    pub(super) fn rows(
        &mut self,
        file: &str,
        columns: &Columns<'_>,
    ) -> Result<(Vec<Row>, Decimals), Fault> {
        let path = self.folder.join(file);
        if !path.exists() {
            return Ok((Vec::new(), Decimals::Point));
        }
        let text = read_text("--from", &path.display().to_string(), HOW)?;
        let decimals = decimals_of(&text);
        let mut lines = Lines::of(&text);
        let mut reader = ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .trim(Trim::None)
            .delimiter(between(decimals))
            .from_reader(text.as_bytes());
        let mut places: Option<Vec<Option<usize>>> = None;
        let mut width = 0;
        let mut rows = Vec::new();
        for record in reader.records() {
            let Ok(record) = record else {
                self.wrong(file, 1, "", format!("The file cannot be read; {HOW}."));
                break;
            };
            let line = lines.line(&record);
            let Some(places) = &places else {
                width = record.len();
                let before = self.problems.len();
                places = Some(self.header(file, line, &record, columns));
                if self.problems.len() > before {
                    break;
                }
                continue;
            };
            if record.iter().all(str::is_empty) {
                continue;
            }
            if record.len() != width {
                let text = format!(
                    "The line has {} cells and the header {width}; see its {} and quotes.",
                    record.len(),
                    marks(decimals)
                );
                self.wrong(file, line, "", text);
                continue;
            }
            let cell = |place: &Option<usize>| {
                let cell = place.and_then(|place| record.get(place));
                unguarded(cell.unwrap_or_default()).to_owned()
            };
            let cells = places.iter().map(cell).collect();
            rows.push(Row { line, cells });
        }
        Ok((rows, decimals))
    }

    /// Where each column stands.
    fn header(
        &mut self,
        file: &str,
        line: i64,
        header: &StringRecord,
        columns: &Columns<'_>,
    ) -> Vec<Option<usize>> {
        let mut places = vec![None; columns.wanted.len()];
        for (place, name) in header.iter().map(str::trim).enumerate() {
            if columns.passed_over.iter().any(|column| column == name) {
                continue;
            }
            let known = columns.wanted.iter().position(|column| *column == name);
            let Some(slot) = known.and_then(|at| places.get_mut(at)) else {
                let first: Vec<_> = columns.wanted.iter().take(4).copied().collect();
                let text = format!(
                    "There is no such column. README.txt of an export says what there is; the first are {}.",
                    first.join(", ")
                );
                self.wrong(file, line, &excerpt(name), text);
                continue;
            };
            if slot.replace(place).is_some() {
                self.wrong(file, line, name, "The column is there twice.".to_owned());
            }
        }
        for name in columns.needed {
            let at = columns.wanted.iter().position(|column| column == name);
            if at
                .and_then(|at| places.get(at))
                .is_some_and(Option::is_none)
            {
                self.wrong(file, line, name, "The column is missing.".to_owned());
            }
        }
        places
    }
}

/// What stands between the cells of a line, for a sentence.
const fn marks(decimals: Decimals) -> &'static str {
    match decimals {
        Decimals::Point => "commas",
        Decimals::Comma => "semicolons",
    }
}
