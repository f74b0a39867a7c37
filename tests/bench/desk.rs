//! The desk without a network: callers that each give the next use as soon as the last is durable.

use std::error::Error;
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use fettlebook_server::desk::{Desk, DeskError, DeskOptions, SystemClock};
use uuid::Uuid;

use crate::Plan;
use crate::measure::{Figures, figures, round};
use crate::shop;

pub(crate) fn run(plan: &Plan, folder: &Path, callers: usize) -> Result<Figures, Box<dyn Error>> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()?;
    let options = DeskOptions::new(Arc::new(SystemClock), Uuid::now_v7());
    let (desk, _) = Desk::open(&folder.join(format!("desk-{callers}")), &options)?;
    runtime.block_on(shop::stock(&desk))?;
    let mut rounds = Vec::new();
    for _ in 0..plan.rounds {
        rounds.push(round(|| {
            runtime.block_on(callers_for(&desk, callers, plan.round))
        })?);
    }
    runtime.block_on(desk.close())?;
    Ok(figures(&rounds))
}

async fn callers_for(
    desk: &Desk,
    callers: usize,
    round: Duration,
) -> Result<Vec<Duration>, DeskError> {
    let tasks: Vec<_> = (0..callers)
        .map(|caller| tokio::spawn(call_for(desk.clone(), caller, round)))
        .collect();
    let mut waits = Vec::new();
    for task in tasks {
        waits.extend(task.await.map_err(|_| DeskError::Closed)??);
    }
    Ok(waits)
}

async fn call_for(desk: Desk, caller: usize, round: Duration) -> Result<Vec<Duration>, DeskError> {
    let (start, mut waits) = (Instant::now(), Vec::new());
    for turn in 0.. {
        if start.elapsed() >= round {
            break;
        }
        let begun = Instant::now();
        desk.submit(shop::order(shop::usage(caller, turn))).await?;
        waits.push(begun.elapsed());
    }
    Ok(waits)
}
