//! Opening a book with 200 pieces and 10,000 entries, from nothing to a look at the kit.

use std::fs;
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use fettlebook_server::desk::{Desk, DeskOptions, SystemClock};
use fettlebook_server::store::FolderStore;
use uuid::Uuid;

use crate::Fault;
use crate::desk::{Until, report};
use crate::measure::median;
use crate::plan::Plan;
use crate::shop;

/// Entries in the book.
const ENTRY_COUNT: usize = 10_000;

/// Uses given at once while the book is filled.
const AT_ONCE: usize = 100;

pub(crate) fn run(plan: &Plan, folder: &Path) -> Result<(), Fault> {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()?;
    let folder = folder.join("open");
    let options = DeskOptions::new(Arc::new(SystemClock), Uuid::now_v7());
    let (desk, _) = Desk::open(Arc::new(FolderStore::at(&folder)), &options)?;
    runtime.block_on(fill(&desk))?;
    runtime.block_on(desk.close())?;
    let times = |without_shelf: bool| -> Result<Vec<[Duration; 2]>, Fault> {
        let mut times = Vec::new();
        for _ in 0..plan.rounds {
            if without_shelf {
                fs::remove_dir_all(folder.join("shelf"))?;
            }
            let start = Instant::now();
            let (desk, _) = Desk::open(Arc::new(FolderStore::at(&folder)), &options)?;
            let pieces = desk.book().pieces().count();
            let opened = start.elapsed();
            runtime.block_on(desk.close())?;
            assert!(pieces == 200, "the shop has 200 pieces");
            times.push([opened, start.elapsed() - opened]);
        }
        Ok(times)
    };
    for (title, without_shelf) in [("shelf current", false), ("shelf rebuilt", true)] {
        let times = times(without_shelf)?;
        let [opened, closed] =
            [0, 1].map(|at| median(times.iter().filter_map(|time| time.get(at).copied())));
        println!("open, {title}: {opened:.1?}; close: {closed:.1?}");
    }
    Ok(())
}

async fn fill(desk: &Desk) -> Result<(), Fault> {
    shop::stock(desk).await?;
    let each = Until::Reported(ENTRY_COUNT / AT_ONCE);
    report(desk, shop::usage, AT_ONCE, each).await?;
    Ok(())
}
