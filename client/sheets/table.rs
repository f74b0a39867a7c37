//! A file of comma-separated values as lines of named cells, and everything wrong with it.
//!
//! It serves every sheet. A column may be missing and a cell may be empty; a column that nobody knows
//! is refused, because it is most likely misspelt.

use std::fs;
use std::path::{Path, PathBuf};

use csv::{ReaderBuilder, StringRecord, Trim};

use super::cell::excerpt;
use super::lines::Lines;
use crate::commands::common::read_text;
use crate::fault::{Fault, Problem};
use crate::render::csv::unguarded;

/// How a file is to be saved.
const HOW: &str = "save it as CSV in UTF-8";

/// A folder of files while they are read.
pub(super) struct Source {
    folder: PathBuf,
    /// Everything wrong so far.
    pub(super) problems: Vec<Problem>,
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

    /// The lines of a file by its columns, `needed` of which must be there; none when there is no such
    /// file.
    ///
    /// # Errors
    /// When the file cannot be read as text.
    pub(super) fn rows(
        &mut self,
        file: &str,
        columns: &[&str],
        needed: &[&str],
    ) -> Result<Vec<Row>, Fault> {
        let path = self.folder.join(file);
        if !path.exists() {
            return Ok(Vec::new());
        }
        let text = read_text("--from", &path.display().to_string(), HOW)?;
        let mut lines = Lines::of(&text);
        let mut reader = ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .trim(Trim::None)
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
                places = Some(self.header(file, line, &record, columns, needed));
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
                    "The line has {} cells and the header {width}; see its commas and quotes.",
                    record.len()
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
        Ok(rows)
    }

    /// Where each column stands.
    fn header(
        &mut self,
        file: &str,
        line: i64,
        header: &StringRecord,
        columns: &[&str],
        needed: &[&str],
    ) -> Vec<Option<usize>> {
        let mut places = vec![None; columns.len()];
        for (place, name) in header.iter().map(str::trim).enumerate() {
            let known = columns.iter().position(|column| *column == name);
            let Some(slot) = known.and_then(|at| places.get_mut(at)) else {
                let text = if name.contains(';') {
                    "The cells are separated by semicolons; save the file with commas.".to_owned()
                } else {
                    format!(
                        "There is no such column. README.txt of an export says what there is; the \
                         first are {}.",
                        columns
                            .iter()
                            .take(4)
                            .copied()
                            .collect::<Vec<_>>()
                            .join(", ")
                    )
                };
                self.wrong(file, line, &excerpt(name), text);
                continue;
            };
            if slot.replace(place).is_some() {
                self.wrong(file, line, name, "The column is there twice.".to_owned());
            }
        }
        for name in needed {
            let at = columns.iter().position(|column| column == name);
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
