//! `book import --from DIR`: takes over what the files of an export hold and the book does not.
//!
//! It serves another book, and a shop that set itself up in a spreadsheet. Nothing is sent while
//! anything is wrong with the files; what was taken over before a refusal stays, and running it again
//! goes on from there.

use std::path::Path;

use fettlebook_contract::v1::{
    BookJobRequest, CreateCarRequest, CreateMakeRequest, CreateRoutineRequest,
    CreateSupplierRequest, ImportPadsRequest,
};
use serde_json::{Value, json};

use super::look_then_import;
use crate::call::send;
use crate::commands::book::export;
use crate::commands::{make, supplier};
use crate::connect::Session;
use crate::exit::Exit;
use crate::fault::{Fault, Problem};
use crate::render::{Form, Printer, folder as screen};
use crate::request;
use crate::sheets::plan::{self, Known, Plan, Receipt, Sort};
use crate::sheets::{self, FILES, Read};

/// Pads in one request, the contract's limit.
const PADS_MAX: usize = 500;

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
        let mut sending = Sending {
            session,
            note,
            done: 0,
            all: plan.count(),
        };
        sending.all(&plan).await?;
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
    let makes = make::list::all(session).await?.makes.into_iter();
    let cars = export::cars(session).await?.into_iter();
    let routines = export::routines(session).await?.into_iter();
    let suppliers = supplier::list::all(session).await?.suppliers.into_iter();
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

/// The problems of a look at pads, by the columns of the kit's file.
fn in_kit(mut fault: Fault) -> Fault {
    for problem in &mut fault.problems {
        let column = match problem.column.as_str() {
            "work" | "jobs" => "pad.work_micro_sections",
            "washes" => "pad.wash_count",
            "status" => "readiness",
            "reason" => "aside_reason, bin_reason",
            _ => continue,
        };
        column.clone_into(&mut problem.column);
    }
    if !fault.problems.is_empty() {
        "--from".clone_into(&mut fault.field);
    }
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

/// A plan while it is sent.
struct Sending<'a> {
    session: &'a Session,
    note: &'a str,
    done: usize,
    all: usize,
}

impl Sending<'_> {
    /// Sends all of it, in the order in which it rests on one another.
    async fn all(&mut self, plan: &Plan) -> Result<(), Fault> {
        let [makes, cars, routines, suppliers, _, kit, jobs] = FILES;
        for read in &plan.makes {
            let sent = self.make(read).await.map(drop);
            self.counted(makes, read.line, sent)?;
        }
        for read in &plan.cars {
            let sent = self.car(read).await.map(drop);
            self.counted(cars, read.line, sent)?;
        }
        for read in &plan.routines {
            let sent = self.routine(read).await.map(drop);
            self.counted(routines, read.line, sent)?;
        }
        for read in &plan.suppliers {
            let sent = self.supplier(read).await.map(drop);
            self.counted(suppliers, read.line, sent)?;
        }
        self.pads(plan).await?;
        for read in &plan.receipts {
            let sent = self.receipt(&read.what).await;
            self.counted(kit, read.line, sent)?;
        }
        for read in &plan.jobs {
            let sent = self.job(read).await.map(drop);
            self.counted(jobs, read.line, sent)?;
        }
        Ok(())
    }

    /// Counts what was taken over; a refusal says where it stands and how to go on.
    fn counted(&mut self, file: &str, line: i64, sent: Result<(), Fault>) -> Result<(), Fault> {
        match sent {
            Ok(()) => {
                self.done += 1;
                Ok(())
            }
            Err(mut fault) => {
                fault.message = format!("{file} line {line}: {}", fault.message);
                Err(self.stopped(fault))
            }
        }
    }

    /// A refusal with how far the import came.
    fn stopped(&self, mut fault: Fault) -> Fault {
        let (done, all) = (self.done, self.all);
        let todo = format!(
            "{done} of {all} were taken over before it and stay; mend it and import again, which \
             passes over what is there."
        );
        fault.todo = format!("{} {todo}", fault.todo).trim().to_owned();
        fault
    }

    async fn make(&self, read: &Read<fettlebook_contract::v1::Make>) -> Result<impl Sized, Fault> {
        let asked = CreateMakeRequest {
            request_id: request::new_id(),
            make: Some(read.what.clone()),
        };
        let service = self.session.kit();
        send(asked, |sent| {
            let mut service = service.clone();
            async move { service.create_make(sent).await }
        })
        .await
    }

    async fn car(&self, read: &Read<fettlebook_contract::v1::Car>) -> Result<impl Sized, Fault> {
        let asked = CreateCarRequest {
            request_id: request::new_id(),
            car: Some(read.what.clone()),
        };
        let service = self.session.jobs();
        send(asked, |sent| {
            let mut service = service.clone();
            async move { service.create_car(sent).await }
        })
        .await
    }

    async fn routine(
        &self,
        read: &Read<fettlebook_contract::v1::Routine>,
    ) -> Result<impl Sized, Fault> {
        let asked = CreateRoutineRequest {
            request_id: request::new_id(),
            routine: Some(read.what.clone()),
        };
        let service = self.session.jobs();
        send(asked, |sent| {
            let mut service = service.clone();
            async move { service.create_routine(sent).await }
        })
        .await
    }

    async fn supplier(
        &self,
        read: &Read<fettlebook_contract::v1::Supplier>,
    ) -> Result<impl Sized, Fault> {
        let asked = CreateSupplierRequest {
            request_id: request::new_id(),
            supplier: Some(read.what.clone()),
        };
        let service = self.session.supply();
        send(asked, |sent| {
            let mut service = service.clone();
            async move { service.create_supplier(sent).await }
        })
        .await
    }

    async fn job(&self, read: &Read<fettlebook_contract::v1::Job>) -> Result<impl Sized, Fault> {
        let asked = BookJobRequest {
            request_id: request::new_id(),
            job: Some(read.what.clone()),
        };
        let service = self.session.jobs();
        send(asked, |sent| {
            let mut service = service.clone();
            async move { service.book_job(sent).await }
        })
        .await
    }

    /// Receives a piece, and says of it what is not as when it is new.
    async fn receipt(&self, receipt: &Receipt) -> Result<(), Fault> {
        let mut asked = receipt.receive.clone();
        asked.request_id = request::new_id();
        self.note.clone_into(&mut asked.note);
        let service = self.session.kit();
        send(asked, |sent| {
            let mut service = service.clone();
            async move { service.receive_kit(sent).await }
        })
        .await?;
        if let Some(count) = &receipt.count {
            let mut asked = count.clone();
            asked.request_id = request::new_id();
            send(asked, |sent| {
                let mut service = service.clone();
                async move { service.count_kit(sent).await }
            })
            .await?;
        }
        if let Some(aside) = &receipt.aside {
            let mut asked = aside.clone();
            asked.request_id = request::new_id();
            send(asked, |sent| {
                let mut service = service.clone();
                async move { service.set_aside(sent).await }
            })
            .await?;
        }
        Ok(())
    }

    /// Takes over the pads, as many at once as one request takes.
    async fn pads(&mut self, plan: &Plan) -> Result<(), Fault> {
        let [.., kit, _] = FILES;
        for rows in plan.pads.chunks(PADS_MAX) {
            let asked = ImportPadsRequest {
                request_id: request::new_id(),
                note: self.note.to_owned(),
                rows: rows.to_vec(),
                validate_only: false,
            };
            let book = self.session.book();
            let sent = look_then_import(kit, asked, |sent| {
                let mut book = book.clone();
                async move { book.import_pads(sent).await }
            })
            .await;
            sent.map_err(|fault| self.stopped(in_kit(fault)))?;
            self.done += rows.len();
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::{in_kit, not_imported};
    use crate::fault::{Fault, Problem};
    use std::path::Path;

    #[test]
    fn what_a_look_finds_is_told_by_the_columns_of_the_kit() {
        let problem = |column: &str| Problem {
            file: "kit.csv".to_owned(),
            line: 2,
            column: column.to_owned(),
            text: "Wrong.".to_owned(),
            todo: String::new(),
        };
        let mut fault = Fault::usage("--pads", "Wrong.");
        fault.problems = Box::new([problem("work"), problem("tag")]);
        let fault = in_kit(fault);
        let columns: Vec<_> = fault
            .problems
            .iter()
            .map(|one| one.column.as_str())
            .collect();
        assert_eq!(columns, ["pad.work_micro_sections", "tag"]);
        assert_eq!(fault.field, "--from");
    }

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
