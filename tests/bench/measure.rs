//! Rounds, medians and the processor time they took.
//!
//! It serves the parts of the load. Nothing is averaged over rounds: one slow round must not move
//! the figure.

use std::time::{Duration, Instant};

use rustix::time::{ClockId, clock_gettime};

/// Rest after a round, within which what was put off (a shelf, a checkpoint) is done. It counts as
/// processor time of that round, and does not disturb the next one.
const REST: Duration = Duration::from_millis(300);

/// What one round did.
pub(crate) struct Round {
    /// Work done.
    pub done_count: usize,
    /// How long the round took.
    pub took: Duration,
    /// How long single pieces of work took.
    pub waits: Vec<Duration>,
    /// Processor time of the round and the rest after it.
    pub cpu: Duration,
}

/// Medians over rounds.
#[derive(Clone)]
pub(crate) struct Figures {
    pub(crate) per_second: f64,
    pub(crate) p50: Duration,
    pub(crate) p99: Duration,
    pub(crate) cpu_each: Duration,
}

/// Runs a round and measures it. `work` gives how long each piece of work took.
pub(crate) fn round<E>(work: impl FnOnce() -> Result<Vec<Duration>, E>) -> Result<Round, E> {
    round_by(cpu_time, work)
}

/// The same where other processes work too: `cpu` gives the time of all.
pub(crate) fn round_by<E>(
    cpu: impl Fn() -> Duration,
    work: impl FnOnce() -> Result<Vec<Duration>, E>,
) -> Result<Round, E> {
    let (start, before) = (Instant::now(), cpu());
    let waits = work()?;
    let took = start.elapsed();
    std::thread::sleep(REST);
    Ok(Round {
        done_count: waits.len(),
        took,
        waits,
        cpu: cpu().saturating_sub(before),
    })
}

/// The medians of some rounds.
pub(crate) fn figures(rounds: &[Round]) -> Figures {
    let cpu = rounds
        .iter()
        .map(|round| round.cpu.div_f64(round.done_count.max(1) as f64));
    Figures {
        per_second: median(rounds.iter().map(Round::per_second)),
        p50: median(rounds.iter().map(Round::p50)),
        p99: median(rounds.iter().map(|round| round.wait_at(0.99))),
        cpu_each: median(cpu),
    }
}

impl Round {
    /// Work done in a second.
    pub(crate) fn per_second(&self) -> f64 {
        self.done_count as f64 / self.took.as_secs_f64()
    }

    /// How long half of the pieces of work took at most.
    pub(crate) fn p50(&self) -> Duration {
        self.wait_at(0.5)
    }

    /// How long this share of the pieces of work took at most.
    fn wait_at(&self, share: f64) -> Duration {
        at(&self.waits, share)
    }
}

/// How long this share of some waits was at most.
pub(crate) fn at(waits: &[Duration], share: f64) -> Duration {
    let mut waits = waits.to_vec();
    waits.sort_unstable();
    let place = (waits.len() as f64 * share) as usize;
    let place = place.min(waits.len().saturating_sub(1));
    waits.get(place).copied().unwrap_or_default()
}

impl Figures {
    /// What stands over the columns.
    pub(crate) fn print_heading() {
        println!(
            "{:<38}{:>8}{:>12}{:>11}{:>11}{:>11}",
            "", "callers", "per second", "p50 µs", "p99 µs", "CPU µs"
        );
    }

    /// One line of the table.
    pub(crate) fn print(&self, title: &str, callers: usize) {
        println!(
            "{title:<38}{callers:>8}{:>12.0}{:>11.0}{:>11.0}{:>11.1}",
            self.per_second,
            micros(self.p50),
            micros(self.p99),
            micros(self.cpu_each),
        );
    }
}

/// A time in microseconds.
pub(crate) const fn micros(time: Duration) -> f64 {
    time.as_secs_f64() * 1e6
}

/// The median of some values; the default of none.
pub(crate) fn median<T: PartialOrd + Copy + Default>(values: impl Iterator<Item = T>) -> T {
    let mut values: Vec<T> = values.collect();
    values.sort_by(|a, b| a.partial_cmp(b).unwrap_or(std::cmp::Ordering::Equal));
    values.get(values.len() / 2).copied().unwrap_or_default()
}

/// Processor time this process has used, its own and the system's for it.
pub(crate) fn cpu_time() -> Duration {
    let used = clock_gettime(ClockId::ProcessCPUTime);
    let [seconds, nanos] = [used.tv_sec, used.tv_nsec].map(u64::try_from);
    Duration::from_secs(seconds.unwrap_or_default())
        + Duration::from_nanos(nanos.unwrap_or_default())
}
