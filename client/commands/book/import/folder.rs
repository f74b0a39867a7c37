//! `book import --from DIR`: takes over what the files of an export hold and the book does not.
//!
//! It serves another book, and a shop that set itself up in a spreadsheet. Nothing is sent while
//! anything is wrong with the files; what was taken over before a refusal stays, and running it again
//! goes on from there.

use std::path::Path;

use serde_json::{Value, json};

use super::sending::Sending;
use crate::commands::book::export;
use crate::commands::{make, supplier};
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::{Fault, Problem};
use crate::render::{Form, Printer, folder as screen};
use crate::sheets::plan::{self, Known, Plan, Sort};
use crate::sheets::{self, FILES};

/// Reads the files, and takes over what is not there.
pub(super) async fn perform(
    session: &Session,
    folder: &Path,
    dry_run: bool,
    note: &str,
    printer: &mut Printer,
) -> Result<Exit, Fault> {
    let (found, mut problems) = sheets::read(folder)?;
    let known = known(session).await?;
    let planned = plan::plan(found, &known, &session.now());
    let plan = match planned {
        Ok(plan) if problems.is_empty() => plan,
        Ok(_) => return Err(not_imported(folder, problems)),
        Err(more) => {
            problems.extend(more);
            return Err(not_imported(folder, problems));
        }
    };
    if !dry_run {
        Sending::of(session, note, &plan).all(&plan).await?;
    }
    match printer.form() {
        Form::Json => printer.document(&document(&plan, dry_run)),
        Form::People | Form::Csv => {
            let text = screen::imported(printer.screen(), &plan, dry_run);
            printer.page(&text);
        }
    }
    Ok(Exit::Done)
}

/// What the book holds.
async fn known(session: &Session) -> Result<Known, Fault> {
    let makes = make::all(session).await?.makes.into_iter();
    let cars = export::cars(session).await?.into_iter();
    let routines = export::routines(session).await?.into_iter();
    let suppliers = supplier::all(session).await?.suppliers.into_iter();
    let kit = export::kit(session).await?.into_iter();
    let jobs = export::jobs(session).await?.into_iter();
    Ok(Known {
        makes: makes
            .map(|make| (make.make.clone(), Sort::of(&make)))
            .collect(),
        cars: cars.map(|car| car.car).collect(),
        routines: routines.map(|routine| routine.routine).collect(),
        suppliers: suppliers.map(|supplier| supplier.supplier).collect(),
        tags: kit.map(|piece| piece.tag).collect(),
        jobs: jobs.map(|job| job.job).collect(),
    })
}

/// Everything wrong with the files, in their order.
fn not_imported(folder: &Path, mut problems: Vec<Problem>) -> Fault {
    let order = |problem: &Problem| {
        let file = FILES.iter().position(|file| *file == problem.file);
        (file, problem.line)
    };
    problems.sort_by_key(order);
    let count = match problems.len() {
        1 => "one thing is".to_owned(),
        more => format!("{more} things are"),
    };
    let mut fault = Fault::usage(
        "--from",
        format!(
            "{count} wrong in {}, and nothing was imported.",
            folder.display()
        ),
    );
    fault.problems = problems.into_boxed_slice();
    fault
}

/// What was taken over, or would be, in one document.
fn document(plan: &Plan, dry_run: bool) -> Value {
    let counts = plan
        .counts()
        .map(|(file, count)| json!({ "file": file, "count": count }));
    let passed = plan
        .passed_over
        .iter()
        .map(|one| json!({ "file": one.file, "id": one.id, "why": one.why }));
    json!({
        "dryRun": dry_run,
        "imported": counts.collect::<Vec<_>>(),
        "passedOver": passed.collect::<Vec<_>>(),
        "leftBehind": plan.left_behind,
    })
}

#[cfg(test)]
mod tests {
    use super::not_imported;
    use crate::fault::Problem;
    use std::path::Path;

    #[test]
    fn what_is_wrong_is_told_file_by_file_and_line_by_line() {
        let problem = |file: &str, line| Problem {
            file: file.to_owned(),
            line,
            column: "make".to_owned(),
            text: "Wrong.".to_owned(),
            todo: String::new(),
        };
        let fault = not_imported(
            Path::new("shop"),
            vec![
                problem("kit.csv", 4),
                problem("makes.csv", 9),
                problem("kit.csv", 2),
            ],
        );
        assert_eq!(fault.exit.code(), 2);
        assert_eq!(
            fault.message,
            "3 things are wrong in shop, and nothing was imported."
        );
        let places: Vec<_> = fault.problems.iter().map(Problem::told).collect();
        assert_eq!(
            places,
            [
                "makes.csv line 9, column make: Wrong.",
                "kit.csv line 2, column make: Wrong.",
                "kit.csv line 4, column make: Wrong.",
            ]
        );
    }
}
