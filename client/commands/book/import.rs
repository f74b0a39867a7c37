//! `book import --pads FILE`: takes over the pads of a notebook with what each has behind it; with
//! `--from DIR`, what the files of an export hold.
//!
//! It serves a shop that begins with a history. The service is asked to look first; a file with
//! anything wrong in it changes nothing, and everything wrong is told at once.

use std::path::PathBuf;

use clap::Args;
use fettlebook_contract::v1::{Entry, ImportPadsRequest, ImportPadsResponse, RowProblem};
use serde_json::json;

use crate::commands::common::read_text;
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::{Fault, Problem};
use crate::notebook;
use crate::render::{Form, Printer, notebook as screen};
use crate::request;

mod folder;
mod sending;

const FORMS: &str = "\
The files of a folder are the ones that 'fettle book export' writes, each of them or some;
README.txt of an export says what their columns are. All are read first: whatever is wrong is
named by file, line and column, and then nothing is taken over.";

/// What `book import` takes.
#[derive(Args, Debug)]
#[command(after_help = FORMS)]
pub(crate) struct Import {
    /// File of pads as comma-separated values in UTF-8; - for standard input
    #[arg(long, value_name = "FILE", required_unless_present_any = ["template", "from"])]
    pub(crate) pads: Option<String>,
    /// Folder with the files of 'fettle book export'; what is there already is passed over
    #[arg(long, value_name = "DIR", conflicts_with = "pads")]
    pub(crate) from: Option<PathBuf>,
    /// Look whether it can be imported, and import nothing
    #[arg(long, conflicts_with = "template")]
    pub(crate) dry_run: bool,
    /// Print a file of pads to fill in
    #[arg(long, conflicts_with_all = ["pads", "from", "note"])]
    pub(crate) template: bool,
    /// Anything worth remembering
    #[arg(long, value_name = "TEXT")]
    pub(crate) note: Option<String>,
}

/// Prints the file to fill in; what its lines mean is said beside it.
pub(crate) fn template(printer: &mut Printer) -> Exit {
    if printer.form() == Form::Json {
        printer.document(&json!({ "template": notebook::TEMPLATE }));
    } else {
        printer.verbatim(notebook::TEMPLATE);
        printer.remark(MEANING);
    }
    Exit::Done
}

const MEANING: &str = "\
Lines that begin with # are invented examples and are passed over. Of work_sections (reference
sections) and job_count give one. readiness is ready, soiled, aside or binned; reason is for aside and
binned; date is the day when that was, else the day it came.";

/// How a file is to be saved.
const HOW: &str = "save it as CSV in UTF-8";

/// Imports the notebook.
pub(crate) async fn perform(
    session: &Session,
    args: &Import,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    if let Some(folder) = &args.from {
        let note = args.note.as_deref().unwrap_or_default();
        return folder::perform(session, folder, args.dry_run, note, printer).await;
    }
    let Some(path) = &args.pads else {
        return Ok(template(printer));
    };
    let file = if path == "-" { "standard input" } else { path };
    let text = read_text("--pads", path, HOW)?;
    let asked = ImportPadsRequest {
        request_id: request::new_id(),
        note: args.note.clone().unwrap_or_default(),
        rows: notebook::read(file, &text)?,
        validate_only: args.dry_run,
    };
    let call = async |sent| session.call(sent).await;
    let answer = look_then_import(file, asked.clone(), call).await?;
    let entry = found(&answer)?;
    printer.answer(&answer, |page, _| {
        if args.dry_run {
            screen::understood(page, entry, &asked.rows)
        } else {
            screen::imported(page, entry, &asked.rows)
        }
    })?;
    Ok(Exit::Done)
}

/// Asks for a look, and imports when nothing is wrong and not only a look was asked for.
async fn look_then_import(
    file: &str,
    asked: ImportPadsRequest,
    call: impl AsyncFn(ImportPadsRequest) -> Result<ImportPadsResponse, Fault>,
) -> Result<ImportPadsResponse, Fault> {
    let look = ImportPadsRequest {
        validate_only: true,
        ..asked.clone()
    };
    let seen = call(look).await?;
    if !seen.problems.is_empty() {
        let problems = seen.problems.iter().map(|one| told(file, one)).collect();
        return Err(notebook::not_imported(file, problems));
    }
    if asked.validate_only {
        return Ok(seen);
    }
    call(asked).await
}

fn told(file: &str, problem: &RowProblem) -> Problem {
    Problem {
        file: file.to_owned(),
        line: problem.line,
        column: notebook::column_of(&problem.column).to_owned(),
        text: problem.text.clone(),
        todo: problem.todo.clone(),
    }
}

fn found(answer: &ImportPadsResponse) -> Result<&Entry, Fault> {
    answer
        .entry
        .as_ref()
        .ok_or_else(|| Fault::answer("the entry"))
}

#[cfg(test)]
mod tests {
    use std::cell::RefCell;

    use super::{HOW, look_then_import};
    use crate::args::Cli;
    use crate::commands::common::read_text;
    use crate::fault::Fault;
    use clap::Parser as _;
    use fettlebook_contract::v1::{Entry, ImportPadsRequest, ImportPadsResponse, RowProblem};

    /// What comes of an import at a service that finds these problems, and the looks among the
    /// requests it saw.
    fn imported(
        problems: &[RowProblem],
        validate_only: bool,
    ) -> (Result<ImportPadsResponse, Fault>, Vec<bool>) {
        let seen = RefCell::new(Vec::new());
        let asked = ImportPadsRequest {
            request_id: "id-1".to_owned(),
            validate_only,
            ..ImportPadsRequest::default()
        };
        let call = async |sent: ImportPadsRequest| {
            assert_eq!(sent.request_id, "id-1");
            seen.borrow_mut().push(sent.validate_only);
            let clean = problems.is_empty();
            Ok(ImportPadsResponse {
                entry: clean.then(|| Entry {
                    seq: if sent.validate_only { 0 } else { 41 },
                    ..Entry::default()
                }),
                problems: problems.to_vec(),
                ..ImportPadsResponse::default()
            })
        };
        let runtime = crate::runtime::runtime().unwrap();
        let answer = runtime.block_on(look_then_import("notebook.csv", asked, call));
        (answer, seen.into_inner())
    }

    #[test]
    fn a_clean_notebook_is_looked_at_and_then_imported() {
        let (answer, looks) = imported(&[], false);
        assert_eq!(answer.unwrap().entry.unwrap().seq, 41);
        assert_eq!(looks, [true, false]);
    }

    #[test]
    fn a_dry_run_only_looks() {
        let (answer, looks) = imported(&[], true);
        assert_eq!(answer.unwrap().entry.unwrap().seq, 0);
        assert_eq!(looks, [true]);
    }

    #[test]
    fn every_problem_of_a_look_is_told_by_line_and_column_and_nothing_is_imported() {
        let problem = |line, column: &str, text: &str| RowProblem {
            line,
            column: column.to_owned(),
            text: text.to_owned(),
            todo: "See 'fettle make list'.".to_owned(),
        };
        let (answer, looks) = imported(
            &[
                problem(7, "make", "There is no make coarse-faom-150."),
                problem(9, "job_count", "Give work or jobs, not both."),
            ],
            false,
        );
        assert_eq!(looks, [true]);
        let fault = answer.unwrap_err();
        assert_eq!(fault.exit.code(), 2);
        let places: Vec<_> = fault.problems.iter().map(|one| one.told()).collect();
        assert_eq!(
            places,
            [
                "notebook.csv line 7, column make: There is no make coarse-faom-150. See 'fettle \
                 make list'.",
                "notebook.csv line 9, column job_count: Give work or jobs, not both. See 'fettle make \
                 list'.",
            ]
        );
        let document = fault.to_json();
        assert_eq!(document["error"]["problems"][1]["column"], "job_count");
        assert_eq!(document["error"]["problems"][0]["line"], 7);
    }

    #[test]
    fn a_file_that_is_not_text_is_refused_with_how_to_save_it() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("notebook.csv");
        std::fs::write(&file, b"tag,make\nP-01,mousse \xe0 lustrer\n").unwrap();
        let fault = read_text("--pads", &file.display().to_string(), HOW).unwrap_err();
        assert_eq!((&*fault.field, fault.exit.code()), ("--pads", 2));
        assert!(fault.message.contains("CSV in UTF-8"), "{}", fault.message);
        let missing = folder.path().join("none.csv").display().to_string();
        let fault = read_text("--pads", &missing, HOW).unwrap_err();
        assert_eq!(fault.reason, "FILE");
    }

    #[test]
    fn a_file_or_the_template_but_not_both() {
        let parsed = |words: &[&str]| {
            let line = ["fettle", "book", "import"].iter().chain(words);
            Cli::try_parse_from(line).is_ok()
        };
        assert!(parsed(&["--pads", "notebook.csv", "--dry-run"]));
        assert!(parsed(&["--from", "shop", "--dry-run"]));
        assert!(!parsed(&["--from", "shop", "--pads", "notebook.csv"]));
        assert!(!parsed(&["--from", "shop", "--template"]) && !parsed(&["--dry-run"]));
        assert!(parsed(&["--template"]));
        assert!(!parsed(&[]));
        assert!(!parsed(&["--template", "--pads", "notebook.csv"]));
        assert!(!parsed(&["--template", "--dry-run"]));
    }
}
