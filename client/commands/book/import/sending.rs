//! A planned import on its way: one request after another, and how far it came when one is refused.
//!
//! It serves `book import --from`. What was taken over before a refusal stays and is counted.

use fettlebook_contract::v1::make::Figures;
use fettlebook_contract::v1::{
    BookJobRequest, Car, CreateCarRequest, CreateMakeRequest, CreateRoutineRequest,
    CreateSupplierRequest, ImportPadsRequest, Job, Make, Routine, Supplier,
};

use super::look_then_import;
use crate::connect::Session;
use crate::fault::Fault;
use crate::request;
use crate::sheets::plan::{Plan, Receipt};
use crate::sheets::{FILES, Read};

/// Pads in one request, the contract's limit.
const PADS_MAX: usize = 500;

/// A plan while it is sent.
pub(super) struct Sending<'a> {
    session: &'a Session,
    note: &'a str,
    done: usize,
    all: usize,
}

impl<'a> Sending<'a> {
    /// A plan of which nothing is sent yet.
    pub(super) fn of(session: &'a Session, note: &'a str, plan: &Plan) -> Self {
        Self {
            session,
            note,
            done: 0,
            all: plan.count(),
        }
    }

    /// Sends all of it, in the order in which it rests on one another.
    pub(super) async fn all(&mut self, plan: &Plan) -> Result<(), Fault> {
        let [makes, cars, routines, suppliers, _, kit, jobs] = FILES;
        // A battery names the machines that it fits, which may stand below it.
        let is_battery =
            |read: &&Read<Make>| matches!(read.what.figures, Some(Figures::Battery(_)));
        let (batteries, others): (Vec<_>, Vec<_>) = plan.makes.iter().partition(is_battery);
        for read in others.into_iter().chain(batteries) {
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

    async fn make(&self, read: &Read<Make>) -> Result<impl Sized, Fault> {
        let asked = CreateMakeRequest {
            request_id: request::new_id(),
            make: Some(read.what.clone()),
        };
        self.session.call(asked).await
    }

    async fn car(&self, read: &Read<Car>) -> Result<impl Sized, Fault> {
        let asked = CreateCarRequest {
            request_id: request::new_id(),
            car: Some(read.what.clone()),
            validate_only: false,
        };
        self.session.call(asked).await
    }

    async fn routine(&self, read: &Read<Routine>) -> Result<impl Sized, Fault> {
        let asked = CreateRoutineRequest {
            request_id: request::new_id(),
            routine: Some(read.what.clone()),
        };
        self.session.call(asked).await
    }

    async fn supplier(&self, read: &Read<Supplier>) -> Result<impl Sized, Fault> {
        let asked = CreateSupplierRequest {
            request_id: request::new_id(),
            supplier: Some(read.what.clone()),
        };
        self.session.call(asked).await
    }

    async fn job(&self, read: &Read<Job>) -> Result<impl Sized, Fault> {
        let asked = BookJobRequest {
            request_id: request::new_id(),
            job: Some(read.what.clone()),
        };
        self.session.call(asked).await
    }

    /// Receives a piece, and says of it what is not as when it is new.
    async fn receipt(&self, receipt: &Receipt) -> Result<(), Fault> {
        let mut asked = receipt.receive.clone();
        asked.request_id = request::new_id();
        self.note.clone_into(&mut asked.note);
        self.session.call(asked).await?;
        if let Some(count) = &receipt.count {
            let mut asked = count.clone();
            asked.request_id = request::new_id();
            self.session.call(asked).await?;
        }
        if let Some(aside) = &receipt.aside {
            let mut asked = aside.clone();
            asked.request_id = request::new_id();
            self.session.call(asked).await?;
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
            let call = async |sent| self.session.call(sent).await;
            let sent = look_then_import(kit, asked, call).await;
            sent.map_err(|fault| self.stopped(in_kit(fault)))?;
            self.done += rows.len();
        }
        Ok(())
    }
}

/// The problems of a look at pads, by the columns of the kit's file.
fn in_kit(mut fault: Fault) -> Fault {
    for problem in &mut fault.problems {
        let column = match problem.column.as_str() {
            "work_sections" | "job_count" => "pad.work_micro_sections",
            "wash_count" => "pad.wash_count",
            "reason" => "aside_reason, bin_reason",
            "landed_cost" => "landed_cost.amount",
            _ => continue,
        };
        column.clone_into(&mut problem.column);
    }
    if !fault.problems.is_empty() {
        fault.field = "--from".into();
    }
    fault
}

#[cfg(test)]
mod tests {
    use super::in_kit;
    use crate::fault::{Fault, Problem};

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
        fault.problems = Box::new([problem("work_sections"), problem("tag")]);
        let fault = in_kit(fault);
        let columns: Vec<_> = fault
            .problems
            .iter()
            .map(|one| one.column.as_str())
            .collect();
        assert_eq!(columns, ["pad.work_micro_sections", "tag"]);
        assert_eq!(&*fault.field, "--from");
    }
}
