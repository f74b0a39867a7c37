//! Reading a journal through, and what it costs a command of a person who works alone: with the proof
//! of the last run, without it, and when one byte was changed.
//!
//! It serves the promise that nothing is recorded behind a changed byte and that nobody waits for
//! that. Every command is a process of its own, by the real client, with the files still in the
//! system's memory.
//!
//! ```text
//! cargo build --profile bench && cargo run --profile bench -p fettlebook-bench -- audit --entries 1000000
//! ```

use std::fs::{self, OpenOptions};
use std::io::{Read as _, Seek as _, SeekFrom, Write as _};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::time::{Duration, Instant};

use fettlebook_model::Seq;
use fettlebook_server::journal::{FileReader, Position, Reached, Reader as _};
use tokio::runtime::Runtime;

use crate::Fault;
use crate::compare::met;
use crate::desk;
use crate::measure::median;
use crate::plan::Plan;
use crate::shop;
use crate::sizes::{fill_up, space};

/// Washes of each kind, of which the median counts.
const WASH_COUNT: usize = 11;

/// Longest wash in a book that was just closed.
const WASH_MAX: Duration = Duration::from_millis(60);

/// Bytes of the journal before the one that is changed: far from its end.
const FLIPPED_AT: u64 = 400_000;

pub(crate) fn run(plan: &Plan, folder: &Path) -> Result<(), Fault> {
    let runtime = Runtime::new()?;
    for &entry_count in &plan.entries {
        let book = folder.join(format!("book-{entry_count}"));
        let desk = desk::open(&book)?;
        runtime.block_on(fill_up(&desk, entry_count))?;
        let head = desk.standing().head.seq;
        runtime.block_on(desk.close())?;
        let byte_count = space(&book.join("journal"))?.byte_count;
        println!("{entry_count:>9} entries, {} MB:", byte_count / 1_000_000);
        read(plan.rounds, &book, head, byte_count)?;
        wash(&book, folder, plan.rounds)?;
        fs::remove_dir_all(book)?;
    }
    Ok(())
}

/// Reads the journal line by line, and through on all processors.
fn read(rounds: usize, book: &Path, head: Seq, byte_count: u64) -> Result<(), Fault> {
    let reader = FileReader::new(book.join("journal"));
    let mut times = [Vec::new(), Vec::new()];
    for _ in 0..rounds {
        let begun = Instant::now();
        for line in reader.read(Position::START, head)? {
            line?;
        }
        let walked = begun.elapsed();
        let begun = Instant::now();
        let read = reader.read_through(&Reached::NOTHING, head, &|| true)?;
        if read.end.next.seq != head.next() {
            return Err("the journal was not read to its end".into());
        }
        for (times, took) in times.iter_mut().zip([walked, begun.elapsed()]) {
            times.push(took);
        }
    }
    for (title, times) in ["line by line", "on all processors"].iter().zip(times) {
        let took = median(times.into_iter());
        let rate = byte_count as f64 / 1e6 / took.as_secs_f64();
        println!("          read {title}: {took:.1?}, {rate:.0} MB/s");
    }
    Ok(())
}

/// Washes pads by the real client.
fn wash(book: &Path, folder: &Path, rounds: usize) -> Result<(), Fault> {
    let mut pads = (0..)
        .map(|turn| shop::tags(0, turn))
        .map(|[_, _, pad, _]| pad);
    let mut next = || pads.next().unwrap_or_default();
    let mut once = || timed(book, folder, &next());
    recorded(&once()?.0)?;
    let mut times = Vec::new();
    for _ in 0..WASH_COUNT {
        let (output, took) = once()?;
        recorded(&output)?;
        times.push(took);
    }
    let proven = median(times.into_iter());
    let met = met(proven <= WASH_MAX);
    println!("          wash after a clean run: {proven:.1?} (at most {WASH_MAX:?}): {met}");
    let mut times = Vec::new();
    for _ in 0..rounds {
        fs::remove_file(book.join("audited.json"))?;
        let (output, took) = once()?;
        recorded(&output)?;
        times.push(took);
    }
    let unproven = median(times.into_iter());
    println!("          wash after the proof was thrown away: {unproven:.1?}");
    flip(book)?;
    let mut recorded_count = 0;
    let begun = Instant::now();
    for _ in 0..WASH_COUNT {
        recorded_count += usize::from(once()?.0.status.success());
    }
    let took = begun.elapsed() / WASH_COUNT as u32;
    println!(
        "          {WASH_COUNT} washes after a byte was changed: {recorded_count} recorded, {took:.1?} each"
    );
    Ok(())
}

/// Washes a pad, and says how long that took from the start of the process to its end.
fn timed(book: &Path, folder: &Path, pad: &str) -> Result<(Output, Duration), Fault> {
    let begun = Instant::now();
    let output = Command::new(client()?)
        .env("XDG_STATE_HOME", folder)
        .args(["--book".as_ref(), book.as_os_str()])
        .args(["wash", pad])
        .output()?;
    Ok((output, begun.elapsed()))
}

/// The client, which was built beside this program.
fn client() -> Result<PathBuf, Fault> {
    let client = std::env::current_exe()?.with_file_name("fettle");
    if client.exists() {
        Ok(client)
    } else {
        Err(format!("build {} first", client.display()).into())
    }
}

fn recorded(output: &Output) -> Result<(), Fault> {
    if output.status.success() {
        return Ok(());
    }
    let said = String::from_utf8_lossy(&output.stderr);
    Err(format!("a wash was not recorded: {said}").into())
}

/// Changes one bit of the journal.
fn flip(book: &Path) -> Result<(), Fault> {
    let path = book.join("journal/000000000001.jsonl");
    let mut file = OpenOptions::new().read(true).write(true).open(path)?;
    let at = FLIPPED_AT.min(file.metadata()?.len() / 2);
    let mut byte = [0];
    file.seek(SeekFrom::Start(at))?;
    file.read_exact(&mut byte)?;
    file.seek(SeekFrom::Start(at))?;
    file.write_all(&byte.map(|byte| byte ^ 1))?;
    Ok(())
}
