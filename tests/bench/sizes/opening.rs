//! Opening a book in a process of its own: the time, the memory, and a check on it.
//!
//! It serves the sizes of books. The process that measures has filled books before and would tell
//! of its own memory, so it starts itself again with a book to open.

use std::fs;
use std::path::Path;
use std::process::Command;
use std::sync::Arc;
use std::time::{Duration, Instant};

use fettlebook_model::check::check_jobs;
use fettlebook_server::desk::{Desk, DeskOptions, ShelfFound, SystemClock};
use fettlebook_server::store::FolderStore;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::Fault;
use crate::compare::met;
use crate::measure::{median, micros};

/// The argument that makes this program open the book that is named next, and say what it cost.
pub(crate) const PROBE: &str = "--probe-open";

/// Pieces in the shop.
const PIECE_COUNT: usize = 200;

/// Checks, of which the median counts.
const CHECK_COUNT: usize = 101;

/// Entries of the book that has limits, and whose shelf is rebuilt only once.
const LARGE_COUNT: u64 = 1_000_000;

/// Longest opening of a book of a million entries: with its shelf, and without.
const CURRENT_MAX_S: f64 = 1.0;
const REBUILT_MAX_S: f64 = 15.0;

/// Most memory that rebuilding its shelf may take at any moment, MiB.
const REBUILT_PEAK_MAX_MIB: f64 = 150.0;

/// Opens the book in a folder some times, with its shelf and without.
pub(super) fn run(rounds: usize, entry_count: u64, book: &Path) -> Result<(), Fault> {
    let rebuilds = if entry_count >= LARGE_COUNT {
        1
    } else {
        rounds
    };
    for (title, found, rounds, most_s) in [
        ("shelf current", "current", rounds, CURRENT_MAX_S),
        ("shelf rebuilt", "rebuilt", rebuilds, REBUILT_MAX_S),
    ] {
        let mut told = Vec::new();
        for _ in 0..rounds {
            if found == "rebuilt" {
                fs::remove_dir_all(book.join("shelf"))?;
            }
            told.push(ask(book, found)?);
        }
        let of = |name: &str| median(told.iter().filter_map(|told| told.get(name)?.as_f64()));
        let verdict = if entry_count == LARGE_COUNT {
            let met = met(of("open_s") <= most_s);
            format!(" (at most {most_s}): {met}")
        } else {
            String::new()
        };
        let peak_mib = of("peak_kib") / 1024.0;
        let peak_verdict = if entry_count == LARGE_COUNT {
            let met = met(peak_mib <= REBUILT_PEAK_MAX_MIB);
            format!(" (at most {REBUILT_PEAK_MAX_MIB}): {met}")
        } else {
            String::new()
        };
        println!(
            "{entry_count:>9} entries, {title}: open {:.3} s{verdict}; close {:.3} s; resident {:.0} MiB, \
             at most {peak_mib:.0}{peak_verdict}; check {:.0} µs",
            of("open_s"),
            of("close_s"),
            of("resident_kib") / 1024.0,
            of("check_us"),
        );
    }
    Ok(())
}

/// Has a new process open a book, and takes what it says.
fn ask(book: &Path, found: &str) -> Result<Value, Fault> {
    let answer = Command::new(std::env::current_exe()?)
        .arg(PROBE)
        .arg(book)
        .output()?;
    if !answer.status.success() {
        return Err(String::from_utf8_lossy(&answer.stderr).into());
    }
    let told: Value = serde_json::from_slice(&answer.stdout)?;
    let shelf = told
        .get("shelf")
        .and_then(Value::as_str)
        .unwrap_or_default();
    if shelf == found {
        Ok(told)
    } else {
        Err(format!("the shelf was found {shelf}, not {found}").into())
    }
}

/// Opens the book in a folder and says what it cost, for [`run`].
pub(crate) fn probe(book: Option<String>) -> Result<(), Fault> {
    let book = book.ok_or("say which book to open")?;
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()?;
    let options = DeskOptions::new(Arc::new(SystemClock), Uuid::now_v7());
    let begun = Instant::now();
    let (desk, report) = Desk::open(Arc::new(FolderStore::at(Path::new(&book))), &options)?;
    let piece_count = desk.book().pieces().count();
    let open = begun.elapsed();
    let resident_kib = memory_kib(RESIDENT)?;
    if piece_count != PIECE_COUNT {
        return Err(format!("the book has {piece_count} pieces, not {PIECE_COUNT}").into());
    }
    let check = check(&desk)?;
    let begun = Instant::now();
    runtime.block_on(desk.close())?;
    let close = begun.elapsed();
    let shelf = match report.shelf {
        ShelfFound::Current => "current",
        ShelfFound::Unopened => "unopened",
        ShelfFound::Behind { .. } => "behind",
        ShelfFound::Rebuilt { .. } => "rebuilt",
        ShelfFound::OutOfUse { .. } => "out of use",
        ShelfFound::Ahead => "ahead",
    };
    let told = json!({
        "shelf": shelf,
        "open_s": open.as_secs_f64(),
        "close_s": close.as_secs_f64(),
        "resident_kib": resident_kib,
        "peak_kib": memory_kib(PEAK)?,
        "check_us": micros(check),
    });
    println!("{told}");
    Ok(())
}

/// What a check of the booked jobs takes.
fn check(desk: &Desk) -> Result<Duration, Fault> {
    let (book, now) = (desk.book(), desk.now());
    let jobs: Vec<_> = book.jobs().map(|job| job.id.clone()).collect();
    let mut times = Vec::new();
    for _ in 0..CHECK_COUNT {
        let begun = Instant::now();
        let checks = check_jobs(&book, &jobs, now).map_err(|refusal| refusal.to_string())?;
        times.push(begun.elapsed());
        if checks.is_empty() {
            return Err("no job is booked".into());
        }
    }
    Ok(median(times.into_iter()))
}

/// Lines of what the system says of a process: its resident memory now, and the most it ever was.
/// Source: proc_pid_status(5).
const RESIDENT: &str = "VmRSS:";
const PEAK: &str = "VmHWM:";

/// Memory of this process, as such a line tells it.
fn memory_kib(line: &str) -> Result<u64, Fault> {
    let status = fs::read_to_string("/proc/self/status")?;
    let told = status.lines().find_map(|told| told.strip_prefix(line));
    let figure = told.and_then(|told| told.split_whitespace().next());
    Ok(figure
        .ok_or("the system does not tell the memory")?
        .parse()?)
}
