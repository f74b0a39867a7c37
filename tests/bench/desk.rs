//! The desk without a network: callers that each give the next report as soon as the last is
//! durable.

use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use fettlebook_model::Command;
use fettlebook_server::desk::{Desk, DeskError, DeskOptions, SystemClock};
use fettlebook_server::store::FolderStore;
use tokio::runtime::Handle;
use uuid::Uuid;

use crate::Fault;
use crate::measure::{Figures, figures, round};
use crate::plan::Plan;
use crate::shop::{self, Requests};

/// What a caller reports on its turn.
pub(crate) type Report = fn(caller: usize, turn: usize) -> Command;

/// A desk on a book of its own, and what its callers report.
pub(crate) struct Called {
    runtime: Handle,
    desk: Desk,
    report: Report,
}

pub(crate) fn run(plan: &Plan, folder: &Path, callers: usize) -> Result<Figures, Fault> {
    let runtime = tokio::runtime::Runtime::new()?;
    let folder = folder.join(format!("desk-{callers}"));
    let called = Called::begin(runtime.handle(), &folder, shop::usage)?;
    let mut rounds = Vec::new();
    for _ in 0..plan.rounds {
        rounds.push(round(|| called.call(callers, plan.round))?);
    }
    called.close()?;
    Ok(figures(&rounds))
}

impl Called {
    /// Begins a book with the shop in it.
    pub(crate) fn begin(runtime: &Handle, folder: &Path, report: Report) -> Result<Self, Fault> {
        let desk = open(folder)?;
        runtime.block_on(shop::stock(&desk))?;
        Ok(Self {
            runtime: runtime.clone(),
            desk,
            report,
        })
    }

    /// A round of some callers. It gives how long each waited for each report.
    pub(crate) fn call(&self, callers: usize, round: Duration) -> Result<Vec<Duration>, Fault> {
        let until = Until::Passed(round);
        Ok(self
            .runtime
            .block_on(report(&self.desk, self.report, callers, until))?)
    }

    /// Closes the book.
    pub(crate) fn close(self) -> Result<(), Fault> {
        Ok(self.runtime.block_on(self.desk.close())?)
    }
}

/// Opens the book in a folder with the usual limits.
pub(crate) fn open(folder: &Path) -> Result<Desk, Fault> {
    let options = DeskOptions::new(Arc::new(SystemClock), Uuid::now_v7());
    let (desk, report) = Desk::open(Arc::new(FolderStore::at(folder)), &options)?;
    match report.read_only {
        Some(reason) => Err(reason.as_ref().into()),
        None => Ok(desk),
    }
}

/// How long a caller goes on.
#[derive(Clone, Copy)]
pub(crate) enum Until {
    /// Until so much time has passed.
    Passed(Duration),
    /// Until it has reported so often.
    Reported(usize),
}

/// Callers who report side by side; how long each waited for each report.
pub(crate) async fn report(
    desk: &Desk,
    report: Report,
    callers: usize,
    until: Until,
) -> Result<Vec<Duration>, DeskError> {
    let tasks: Vec<_> = (0..callers)
        .map(|caller| tokio::spawn(report_until(desk.clone(), report, caller, until)))
        .collect();
    let mut waits = Vec::new();
    for task in tasks {
        waits.extend(task.await.map_err(|_| DeskError::Closed)??);
    }
    Ok(waits)
}

async fn report_until(
    desk: Desk,
    report: Report,
    caller: usize,
    until: Until,
) -> Result<Vec<Duration>, DeskError> {
    let (start, mut waits, mut requests) = (Instant::now(), Vec::new(), Requests::begin());
    for turn in 0.. {
        let is_over = match until {
            Until::Passed(time) => start.elapsed() >= time,
            Until::Reported(count) => turn >= count,
        };
        if is_over {
            break;
        }
        let begun = Instant::now();
        desk.submit(requests.order(report(caller, turn))).await?;
        waits.push(begun.elapsed());
    }
    Ok(waits)
}
