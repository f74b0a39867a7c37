//! Rounds, medians and the processor time they took.
//!
//! It serves the parts of the load. Nothing is averaged over rounds: one slow round must not move
//! the figure.

use std::time::{Duration, Instant};

/// What one round did.
pub(crate) struct Round {
    /// Work done.
    pub done_count: usize,
    /// How long the round took.
    pub took: Duration,
    /// How long single pieces of work took.
    pub waits: Vec<Duration>,
    /// Processor time of the whole process, where the system tells it.
    pub cpu: Option<Duration>,
}

/// Medians over rounds.
pub(crate) struct Figures {
    per_second: f64,
    p50: Duration,
    p99: Duration,
    cpu_each: Option<Duration>,
}

/// Runs a round and measures it. `work` gives how long each piece of work took.
pub(crate) fn round<E>(work: impl FnOnce() -> Result<Vec<Duration>, E>) -> Result<Round, E> {
    let (start, cpu) = (Instant::now(), cpu_time());
    let waits = work()?;
    let took = start.elapsed();
    let cpu = cpu
        .zip(cpu_time())
        .map(|(before, after)| after.saturating_sub(before));
    Ok(Round {
        done_count: waits.len(),
        took,
        waits,
        cpu,
    })
}

/// The medians of some rounds.
pub(crate) fn figures(rounds: &[Round]) -> Figures {
    let rates = rounds
        .iter()
        .map(|round| round.done_count as f64 / round.took.as_secs_f64());
    let at = |share: f64| {
        median(rounds.iter().map(|round| {
            let mut waits = round.waits.clone();
            waits.sort_unstable();
            let place = (waits.len() as f64 * share) as usize;
            waits.get(place).copied().unwrap_or_default()
        }))
    };
    let cpu = rounds
        .iter()
        .filter_map(|round| Some(round.cpu?.div_f64(round.done_count.max(1) as f64)));
    Figures {
        per_second: median(rates),
        p50: at(0.5),
        p99: at(0.99),
        cpu_each: rounds
            .iter()
            .all(|round| round.cpu.is_some())
            .then(|| median(cpu)),
    }
}

impl Figures {
    /// One line of the table.
    pub(crate) fn print(&self, title: &str, callers: usize) {
        let micros = |time: Duration| time.as_secs_f64() * 1e6;
        let cpu = self
            .cpu_each
            .map_or("-".to_owned(), |cpu| format!("{:.1}", micros(cpu)));
        println!(
            "{title:<28}{callers:>8}{:>12.0}{:>11.0}{:>11.0}{cpu:>11}",
            self.per_second,
            micros(self.p50),
            micros(self.p99),
        );
    }
}

/// The median of some values; the default of none.
pub(crate) fn median<T: PartialOrd + Copy + Default>(values: impl Iterator<Item = T>) -> T {
    let mut values: Vec<T> = values.collect();
    values.sort_by(|a, b| a.partial_cmp(b).unwrap_or(std::cmp::Ordering::Equal));
    values.get(values.len() / 2).copied().unwrap_or_default()
}

/// Processor time this process has used: fields 14 and 15 of /proc/self/stat, in hundredths of a
/// second. Source: proc_pid_stat(5).
fn cpu_time() -> Option<Duration> {
    let stat = std::fs::read_to_string("/proc/self/stat").ok()?;
    let (_, fields) = stat.rsplit_once(')')?;
    let ticks: u64 = fields
        .split_whitespace()
        .skip(11)
        .take(2)
        .flat_map(str::parse::<u64>)
        .sum();
    Some(Duration::from_millis(ticks * 10))
}
