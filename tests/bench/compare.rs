//! The desk beside files and stores that keep the same bytes with the same durability.
//!
//! It serves the promise that the desk is about as fast as the disk. Every entrant has its turn in
//! every round, so that what else goes on in the machine hits all alike; nothing may be compared
//! that was measured in another run.

use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use tokio::runtime::{Handle, Runtime};

use crate::Fault;
use crate::desk::Called;
use crate::grouped::Grouped;
use crate::measure::{Figures, Round, cpu_time, figures, median, round_by};
use crate::others::{ENGINE_BARE, ENGINE_BOOK, Others, SQLITE};
use crate::plan::Plan;
use crate::raw::{AHEAD, APPENDED, Ahead, Appended};
use crate::{lines, shop};

const DESK: &str = "desk, a count";
const DESK_LARGE: &str = "desk, a log of a use";

/// Least rate of the desk, as a share of the raw file's and of the other store's.
const RAW_SHARE_MIN: f64 = 0.7;
const SQLITE_SHARE_MIN: f64 = 1.0;

/// Longest wait of the desk's slowest hundredth, as a multiple of the raw file's.
const RAW_WAIT_MAX: f64 = 2.0;

/// Least rate of a book that an engine keeps, as a share of the bare insert's in the same groups, and how long
/// a lone caller waits for it at most, as a multiple.
const ENGINE_SHARE_MIN: f64 = 0.7;
const ENGINE_WAIT_MAX: f64 = 1.3;

/// One that takes orders or lines from callers.
pub(crate) trait Entrant {
    /// A round of some callers. It gives how long each waited for each piece of work.
    fn call(&self, callers: usize, round: Duration) -> Result<Vec<Duration>, Fault>;

    /// Processor time used so far by all processes that take part.
    fn cpu(&self) -> Duration {
        cpu_time()
    }

    /// Ends it.
    fn close(self: Box<Self>) -> Result<(), Fault>;
}

impl Entrant for Called {
    fn call(&self, callers: usize, round: Duration) -> Result<Vec<Duration>, Fault> {
        Self::call(self, callers, round)
    }

    fn close(self: Box<Self>) -> Result<(), Fault> {
        Self::close(*self)
    }
}

impl Entrant for Grouped {
    fn call(&self, callers: usize, round: Duration) -> Result<Vec<Duration>, Fault> {
        Self::call(self, callers, round)
    }

    fn close(self: Box<Self>) -> Result<(), Fault> {
        Self::close(*self)
    }
}

/// An entrant and its title.
pub(crate) type Named = (&'static str, Box<dyn Entrant>);

/// What entrants stand on: the runtime of their callers, a folder, and the line they keep.
pub(crate) struct Ground<'a> {
    pub(crate) runtime: &'a Handle,
    pub(crate) folder: &'a Path,
    pub(crate) line: &'a Arc<[u8]>,
}

/// A row of the table.
struct Row {
    title: &'static str,
    callers: usize,
    figures: Figures,
    rounds: Vec<Round>,
}

pub(crate) fn run(plan: &Plan, folder: &Path) -> Result<(), Fault> {
    let runtime = Runtime::new()?;
    let line = lines::written_for(folder, shop::count)?;
    let large = lines::written_for(folder, shop::usage)?;
    println!(
        "A count takes {} B in the journal, a log of a use {} B; all but the second desk keep the \
         bytes of a count. {} rounds of {:?} each, every entrant in every round.\n",
        line.len(),
        large.len(),
        plan.rounds,
        plan.round,
    );
    let others = Others::start(folder);
    Figures::print_heading();
    let mut rows = Vec::new();
    for &callers in &plan.callers {
        let place = tempfile::tempdir_in(folder)?;
        let ground = Ground {
            runtime: runtime.handle(),
            folder: place.path(),
            line: &line,
        };
        let mut entrants = ours(&ground)?;
        entrants.extend(others.entrants(&ground, callers)?);
        rows.extend(race(plan, callers, entrants)?);
        println!();
    }
    for callers in [64, 256] {
        judge(&rows, callers);
    }
    judge_engine(&rows);
    Ok(())
}

/// The files and the desks.
fn ours(ground: &Ground) -> Result<Vec<Named>, Fault> {
    let appended = Appended::create(&ground.folder.join("appended"))?;
    let ahead = Ahead::create(&ground.folder.join("ahead"))?;
    let (runtime, line) = (ground.runtime, ground.line);
    let desk = |name, report| Called::begin(runtime, &ground.folder.join(name), report);
    Ok(vec![
        (APPENDED, Box::new(Grouped::start(runtime, line, appended)?)),
        (AHEAD, Box::new(Grouped::start(runtime, line, ahead)?)),
        (DESK, Box::new(desk("desk", shop::count)?)),
        (DESK_LARGE, Box::new(desk("desk-large", shop::usage)?)),
    ])
}

/// Rounds in which every entrant has its turn, in an order that is turned about each time: whatever one leaves
/// behind, such as a checkpoint, meets those before it as often as those after it.
fn race(plan: &Plan, callers: usize, entrants: Vec<Named>) -> Result<Vec<Row>, Fault> {
    let mut rounds: Vec<Vec<Round>> = entrants.iter().map(|_| Vec::new()).collect();
    for number in 0..plan.rounds {
        let mut turns: Vec<_> = entrants.iter().zip(&mut rounds).collect();
        if number % 2 == 1 {
            turns.reverse();
        }
        for ((_, entrant), rounds) in turns {
            let call = || entrant.call(callers, plan.round);
            rounds.push(round_by(|| entrant.cpu(), call)?);
        }
    }
    let mut rows = Vec::new();
    for ((title, entrant), rounds) in entrants.into_iter().zip(rounds) {
        entrant.close()?;
        let figures = figures(&rounds);
        figures.print(title, callers);
        rows.push(Row {
            title,
            callers,
            figures,
            rounds,
        });
    }
    Ok(rows)
}

/// Says how the desk stands beside the files and the other store at so many callers.
fn judge(rows: &[Row], callers: usize) {
    let find = |title: &str| {
        rows.iter()
            .find(|row| row.callers == callers && row.title == title)
            .map(|row| &row.figures)
    };
    let Some(desk) = find(DESK) else {
        return;
    };
    for (title, least) in [
        (APPENDED, RAW_SHARE_MIN),
        (AHEAD, RAW_SHARE_MIN),
        (SQLITE, SQLITE_SHARE_MIN),
    ] {
        let Some(other) = find(title) else {
            println!("{callers:>4} callers: not measured beside {title}");
            continue;
        };
        let share = desk.per_second / other.per_second;
        let met = met(share >= least);
        println!("{callers:>4} callers: rate {share:.2} of {title} (at least {least}): {met}");
    }
    for title in [APPENDED, AHEAD] {
        let Some(other) = find(title) else {
            continue;
        };
        let multiple = desk.p99.as_secs_f64() / other.p99.as_secs_f64();
        let met = met(multiple <= RAW_WAIT_MAX);
        println!(
            "{callers:>4} callers: p99 {multiple:.2} of {title} (at most {RAW_WAIT_MAX}): {met}"
        );
    }
}

/// Says how a book that an engine keeps stands beside the bare insert, round by round.
fn judge_engine(rows: &[Row]) {
    let of = |title: &'static str| rows.iter().filter(move |row| row.title == title);
    for (book, bare) in of(ENGINE_BOOK).zip(of(ENGINE_BARE)) {
        let ratio = |figure: fn(&Round) -> f64| {
            let pairs = book.rounds.iter().zip(&bare.rounds);
            let mut each: Vec<f64> = pairs
                .map(|(book, bare)| figure(book) / figure(bare))
                .collect();
            each.sort_by(f64::total_cmp);
            let [least, most] =
                [each.first(), each.last()].map(|end| end.copied().unwrap_or_default());
            (median(each.into_iter()), least, most)
        };
        let callers = book.callers;
        let (share, least, most) = ratio(Round::per_second);
        print!(
            "{callers:>4} callers: rate {share:.2} of the bare insert ({least:.2} to {most:.2} in the rounds"
        );
        if callers >= 64 {
            println!(
                "; at least {ENGINE_SHARE_MIN}): {}",
                met(share >= ENGINE_SHARE_MIN)
            );
        } else {
            println!(")");
        }
        let (multiple, least, most) = ratio(|round| round.p50().as_secs_f64());
        print!(
            "{callers:>4} callers: p50 {multiple:.2} of the bare insert ({least:.2} to {most:.2} in the rounds"
        );
        if callers == 1 {
            println!(
                "; at most {ENGINE_WAIT_MAX}): {}",
                met(multiple <= ENGINE_WAIT_MAX)
            );
        } else {
            println!(")");
        }
    }
}

/// How a verdict reads.
pub(crate) const fn met(is_met: bool) -> &'static str {
    if is_met { "met" } else { "NOT met" }
}
