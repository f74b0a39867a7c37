//! Books small and large: what they cost on disk, to open, to keep open, to check and to write on.
//!
//! It serves the promise that a book of many years is as quick as a new one. A book is filled
//! through the desk like any other; every opening is by a process of its own, with the files still
//! in the system's memory.

mod disk;
mod opening;
mod other_stores;

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use fettlebook_server::desk::{Desk, DeskError};
use tokio::runtime::Runtime;

use crate::Fault;
use crate::compare::met;
use crate::desk::{self, Until, report};
use crate::measure::{Figures, Round, figures, micros, round};
use crate::plan::Plan;
use crate::shop::{self, Requests};

use disk::{Space, copy};

pub(crate) use disk::space;
pub(crate) use opening::{PROBE, probe};

/// Callers who fill a book, and who write on in it.
const CALLER_COUNT: usize = 100;

/// Entries written on in a pass.
const STEP_COUNT: usize = 5_000;

/// Passes, of which the median counts. One takes a tenth of a second, which is easily disturbed.
const PASS_COUNT: usize = 11;

/// Most that a commit may cost in a large book, as a multiple of a small one.
const GROWTH_MAX: f64 = 1.1;

/// Most that journal and shelf may take, as a multiple of the journal's lines.
const SPACE_MAX: f64 = 1.5;

/// A closed book of so many entries.
struct Sized {
    entry_count: u64,
    folder: PathBuf,
}

pub(crate) fn run(plan: &Plan, folder: &Path) -> Result<(), Fault> {
    let runtime = Runtime::new()?;
    let books = fill(&runtime, &plan.entries, folder)?;
    println!("\nOn disk, bytes an entry; what is allocated may be more or less than the length:");
    for book in &books {
        print_space(book)?;
    }
    println!("\nOpening, and a check of a booked job, each in a process of its own:");
    for book in &books {
        opening::run(plan.rounds, book.entry_count, &book.folder)?;
    }
    println!(
        "\nThe next {STEP_COUNT} commits of {CALLER_COUNT} callers, median of {PASS_COUNT} passes:"
    );
    write_on(&runtime, &books)?;
    if let Some(largest) = books.last() {
        println!("\nOther stores with the same lines:");
        other_stores::run(plan, &largest.folder, folder)?;
    }
    Ok(())
}

/// Fills a book through the desk, and keeps a copy of it at each of these sizes.
fn fill(runtime: &Runtime, counts: &[u64], folder: &Path) -> Result<Vec<Sized>, Fault> {
    let growing = folder.join("book");
    let mut books = Vec::new();
    for &entry_count in counts {
        let begun = Instant::now();
        let desk = desk::open(&growing)?;
        let added = runtime.block_on(fill_up(&desk, entry_count))?;
        runtime.block_on(desk.close())?;
        let took = begun.elapsed();
        println!("{entry_count:>9} entries: {added} more in {took:.1?}");
        let folder = folder.join(format!("book-{entry_count}"));
        copy(&growing, &folder)?;
        books.push(Sized {
            entry_count,
            folder,
        });
    }
    std::fs::remove_dir_all(&growing)?;
    Ok(books)
}

/// Brings a book to so many entries; how many were added.
pub(crate) async fn fill_up(desk: &Desk, entry_count: u64) -> Result<u64, Fault> {
    let before = desk.standing().head.seq.0;
    if before == 0 {
        shop::stock(desk).await?;
        let mut requests = Requests::begin();
        for command in shop::saloon_tomorrow(desk.now()) {
            desk.submit(requests.order(command)).await?;
        }
    }
    let missing = entry_count.saturating_sub(desk.standing().head.seq.0);
    let missing = usize::try_from(missing)?;
    let each = Until::Reported(missing / CALLER_COUNT);
    report(desk, shop::mixed, CALLER_COUNT, each).await?;
    let rest = Until::Reported(missing % CALLER_COUNT);
    report(desk, shop::mixed, 1, rest).await?;
    Ok(desk.standing().head.seq.0 - before)
}

fn print_space(book: &Sized) -> Result<(), Fault> {
    let lines = crate::lines::Lines::of(&book.folder)?;
    let lines: u64 = lines
        .map(|line| Ok(line?.len() as u64))
        .sum::<std::io::Result<u64>>()?;
    let [journal, shelf] = ["journal", "shelf"].map(|room| space(&book.folder.join(room)));
    let (journal, shelf) = (journal?, shelf?);
    let each = |bytes: u64| bytes as f64 / book.entry_count as f64;
    println!(
        "{:>9} entries: lines {:.0}, journal {}, shelf {}",
        book.entry_count,
        each(lines),
        journal.each(book.entry_count),
        shelf.each(book.entry_count),
    );
    for (title, both) in [
        ("allocated", journal.allocated_bytes + shelf.allocated_bytes),
        ("lines and length of the shelf", lines + shelf.byte_count),
    ] {
        let multiple = both as f64 / lines as f64;
        let met = met(multiple <= SPACE_MAX);
        println!(
            "{:>9}          {multiple:.2} of the lines, {title} (at most {SPACE_MAX}): {met}",
            ""
        );
    }
    Ok(())
}

/// Writes on in all books by turns, so that what else goes on in the machine hits all alike.
fn write_on(runtime: &Runtime, books: &[Sized]) -> Result<(), Fault> {
    let desks: Vec<Desk> = books
        .iter()
        .map(|book| desk::open(&book.folder))
        .collect::<Result<_, _>>()?;
    let pass = |desk: &Desk| {
        let each = Until::Reported(STEP_COUNT / CALLER_COUNT);
        runtime.block_on(report(desk, shop::mixed, CALLER_COUNT, each))
    };
    let mut rounds: Vec<Vec<Round>> = desks.iter().map(|_| Vec::new()).collect();
    for desk in &desks {
        runtime.block_on(read_through(desk))?;
        pass(desk)?;
    }
    for _ in 0..PASS_COUNT {
        for (desk, rounds) in desks.iter().zip(&mut rounds) {
            rounds.push(round(|| pass(desk))?);
        }
    }
    let mut smallest: Option<Figures> = None;
    for ((book, desk), rounds) in books.iter().zip(desks).zip(rounds) {
        runtime.block_on(desk.close())?;
        let figures = figures(&rounds);
        let each = Duration::from_secs_f64(1.0 / figures.per_second.max(1.0));
        let base = smallest.get_or_insert_with(|| figures.clone());
        let growth = base.per_second / figures.per_second;
        let cpu_growth = figures.cpu_each.as_secs_f64() / base.cpu_each.as_secs_f64();
        println!(
            "{:>9} entries: {:.1} µs each, {growth:.2} of the smallest (at most {GROWTH_MAX}): {}; \
             CPU {:.1} µs, {cpu_growth:.2}",
            book.entry_count,
            micros(each),
            met(growth <= GROWTH_MAX),
            micros(figures.cpu_each),
        );
    }
    Ok(())
}

/// Waits until a journal was read through, with one report. That of a large book that was copied
/// takes longer than the desk lets anybody wait.
async fn read_through(desk: &Desk) -> Result<(), Fault> {
    loop {
        match report(desk, shop::mixed, 1, Until::Reported(1)).await {
            Err(DeskError::Unread { retry_after }) => tokio::time::sleep(retry_after).await,
            Err(error) => return Err(error.into()),
            Ok(_) => return Ok(()),
        }
    }
}

impl Space {
    /// Length and what is allocated, an entry.
    fn each(&self, entry_count: u64) -> String {
        let each = |bytes: u64| bytes as f64 / entry_count as f64;
        format!(
            "{:.0} ({:.0} allocated)",
            each(self.byte_count),
            each(self.allocated_bytes)
        )
    }
}
