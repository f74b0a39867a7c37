//! A load on the way from an order to the disk, layer by layer, and beside other stores, in one run
//! on one machine.
//!
//! It serves whoever changes that way and wants to know what it costs. Each part does the same work
//! with the same bytes and the same durability for some callers; a figure is the median of several
//! rounds. It must never compare what was not measured in the same run.
//!
//! ```text
//! cargo run --profile bench -p fettlebook-bench                                raw, desk, empty, grpc, sealed, echo, open
//! cargo run --profile bench -p fettlebook-bench -- desk                        one of these
//! cargo run --profile bench -p fettlebook-bench -- desk --callers 64 --rounds 3 --round-ms 500 --dir /tmp
//! cargo run --profile bench -p fettlebook-bench --features others -- compare   beside other stores
//! cargo run --profile bench -p fettlebook-bench --features others -- sizes     books small and large
//! cargo run --profile bench -p fettlebook-bench --features others -- sizes --entries 10000,100000
//! cargo run --profile bench -p fettlebook-bench -- audit --entries 1000000     reading through (build fettle first)
//! cargo run --profile bench -p fettlebook-bench -- page                        the page at the bench, and watches on it
//! cargo run --profile bench -p fettlebook-bench -- page --beside FETTLED       calls beside another fettled too
//! cargo run --profile bench -p fettlebook-bench --features engine -- shops     many shops on a node (fettled first)
//! ```
#![allow(clippy::print_stdout, reason = "what it prints is what it is for")]

mod audit;
mod compare;
mod desk;
mod echo;
mod grouped;
mod grpc;
mod lines;
mod measure;
mod open;
mod others;
mod page;
mod plan;
#[cfg(feature = "engine")]
mod processes;
mod raw;
mod sealed;
#[allow(dead_code, reason = "the bench of single steps uses the rest of it")]
mod shop;
#[cfg(feature = "engine")]
mod shops;
mod sizes;

use std::error::Error;

use measure::Figures;
use mimalloc::MiMalloc;
use plan::Plan;

/// The one that `fettled` has, for all entrants alike.
#[global_allocator]
static ALLOCATOR: MiMalloc = MiMalloc;

/// What can go wrong; it can leave a thread.
pub(crate) type Fault = Box<dyn Error + Send + Sync>;

fn main() -> Result<(), Fault> {
    let mut args = std::env::args().skip(1).peekable();
    if args.next_if(|first| first == sizes::PROBE).is_some() {
        return sizes::probe(args.next());
    }
    if args.next_if(|first| first == echo::SERVE).is_some() {
        return echo::serve(args);
    }
    let plan = Plan::from_args(args)?;
    std::fs::create_dir_all(&plan.folder)?;
    let folder = tempfile::tempdir_in(&plan.folder)?;
    match plan.part.as_str() {
        "compare" => return compare::run(&plan, folder.path()),
        "audit" => return audit::run(&plan, folder.path()),
        "sizes" => return sizes::run(&plan, folder.path()),
        "page" => return page::run(&plan, folder.path()),
        #[cfg(feature = "engine")]
        "shops" => return shops::run(&plan, folder.path()),
        #[cfg(not(feature = "engine"))]
        "shops" => return Err("shops are built in with `--features engine`".into()),
        _ => {}
    }
    Figures::print_heading();
    if plan.wants("raw") {
        let line = lines::written_for(folder.path(), shop::usage)?;
        let title = format!("disk alone, {} B a line", line.len());
        for &callers in &plan.callers {
            raw::alone(&plan, folder.path(), &line, callers)?.print(&title, callers);
        }
        for &callers in &plan.callers {
            raw::called(&plan, folder.path(), &line, callers)?.print(raw::APPENDED, callers);
        }
    }
    if plan.wants("desk") {
        for &callers in &plan.callers {
            desk::run(&plan, folder.path(), callers)?.print("desk", callers);
        }
    }
    if plan.wants("empty") {
        for &callers in &plan.callers {
            grpc::empty(&plan, callers)?.print("empty unary call", callers);
        }
    }
    if plan.wants("grpc") {
        for &callers in &plan.callers {
            grpc::log_use(&plan, folder.path(), callers)?.print("LogUse over gRPC", callers);
        }
    }
    if plan.wants("echo") {
        for &callers in &plan.callers {
            echo::run(&plan, folder.path(), callers)?;
        }
    }
    if plan.wants("sealed") {
        for &callers in &plan.callers {
            let calls = ["GetBook", "LogUse"];
            for (call, beside) in calls
                .iter()
                .zip(sealed::run(&plan, folder.path(), callers)?)
            {
                beside.plain.print(&format!("{call}, plain"), callers);
                beside
                    .sealed
                    .print(&format!("{call}, TLS and a token"), callers);
            }
        }
    }
    if plan.wants("open") {
        open::run(&plan, folder.path())?;
    }
    Ok(())
}
