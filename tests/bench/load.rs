//! A load on the way from an order to the disk, layer by layer, in one run on one machine.
//!
//! It serves whoever changes that way and wants to know what it costs. Each part does the same work
//! with the same bytes for 1, 8 and 64 callers; a figure is the median of several rounds.
//!
//! ```text
//! cargo run --release --example load            all parts
//! cargo run --release --example load -- desk    one part: raw, desk, empty, grpc, open
//! cargo run --release --example load -- desk --callers 64 --rounds 3 --round-ms 500 --dir /tmp
//! ```
#![allow(clippy::print_stdout, reason = "what it prints is what it is for")]

mod desk;
mod grpc;
mod measure;
mod open;
mod raw;
#[allow(dead_code, reason = "the bench of single steps uses the rest of it")]
mod shop;

use std::error::Error;
use std::path::PathBuf;
use std::time::Duration;

/// What is measured, for how long, and where the files go.
struct Plan {
    part: String,
    callers: Vec<usize>,
    rounds: usize,
    round: Duration,
    folder: PathBuf,
}

impl Plan {
    fn from_args() -> Result<Self, Box<dyn Error>> {
        let mut plan = Self {
            part: "all".to_owned(),
            callers: vec![1, 8, 64],
            rounds: 5,
            round: Duration::from_secs(1),
            folder: PathBuf::from("target"),
        };
        let mut args = std::env::args().skip(1);
        while let Some(arg) = args.next() {
            let mut value = || args.next().ok_or(format!("{arg} needs a value"));
            match arg.as_str() {
                "--callers" => {
                    plan.callers = value()?
                        .split(',')
                        .map(str::parse)
                        .collect::<Result<_, _>>()?;
                }
                "--rounds" => plan.rounds = value()?.parse()?,
                "--round-ms" => plan.round = Duration::from_millis(value()?.parse()?),
                "--dir" => plan.folder = value()?.into(),
                _ => plan.part = arg,
            }
        }
        Ok(plan)
    }

    fn wants(&self, part: &str) -> bool {
        self.part == part || self.part == "all"
    }
}

fn main() -> Result<(), Box<dyn Error>> {
    let plan = Plan::from_args()?;
    let folder = tempfile::tempdir_in(&plan.folder)?;
    println!(
        "{:<28}{:>8}{:>12}{:>11}{:>11}{:>11}",
        "", "callers", "per second", "p50 µs", "p99 µs", "CPU µs"
    );
    if plan.wants("raw") {
        let line = shop::line()?;
        let title = format!("disk alone, {} B a line", line.len());
        for &callers in &plan.callers {
            raw::alone(&plan, folder.path(), &line, callers)?.print(&title, callers);
        }
        for &callers in &plan.callers {
            raw::called(&plan, folder.path(), &line, callers)?.print("raw group commit", callers);
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
    if plan.wants("open") {
        open::run(&plan, folder.path())?;
    }
    Ok(())
}
