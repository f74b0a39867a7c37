//! What other processes take of the machine: processor time, memory and threads.

use std::fs;
use std::time::Duration;

use rustix::param::clock_ticks_per_second;

use crate::Fault;

/// The processes of an engine, by the first of them.
#[derive(Clone, Copy)]
pub(crate) struct Processes(pub(crate) u32);

impl Processes {
    /// Processor time of the server and of the processes it has started and that still run, each of
    /// which has one thread. Source: proc_pid_stat(5) for the parent; the kernel's page on scheduler
    /// statistics for the time, which is in nanoseconds and not, as elsewhere, in hundredths of a
    /// second that many short-lived turns never fill.
    pub(crate) fn cpu_time(&self) -> Duration {
        let processes = fs::read_dir("/proc").into_iter().flatten().flatten();
        let times = processes.filter_map(|process| {
            let id: u32 = process.file_name().to_str()?.parse().ok()?;
            let stat = fs::read_to_string(process.path().join("stat")).ok()?;
            let (_, fields) = stat.rsplit_once(')')?;
            let parent: u32 = fields.split_whitespace().nth(1)?.parse().ok()?;
            if id != self.0 && parent != self.0 {
                return None;
            }
            let times = fs::read_to_string(process.path().join("schedstat")).ok()?;
            let on_processor = times.split_whitespace().next()?.parse().ok()?;
            Some(Duration::from_nanos(on_processor))
        });
        times.sum()
    }
}

/// What a process with threads takes.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Taken {
    pub(crate) memory_kib: u64,
    /// The most it took so far.
    pub(crate) memory_most_kib: u64,
    pub(crate) threads: u64,
}

/// Memory and threads of a process. Source: proc_pid_status(5).
pub(crate) fn taken(id: u32) -> Result<Taken, Fault> {
    let status = fs::read_to_string(format!("/proc/{id}/status"))?;
    let figure = |name: &str| {
        let line = status.lines().find_map(|line| line.strip_prefix(name));
        let figure = line.and_then(|line| line.split_whitespace().next());
        figure
            .and_then(|figure| figure.parse().ok())
            .ok_or_else(|| format!("{name} is not told"))
    };
    Ok(Taken {
        memory_kib: figure("VmRSS:")?,
        memory_most_kib: figure("VmHWM:")?,
        threads: figure("Threads:")?,
    })
}

/// Processor time of all threads of a process, those that ended too. Source: proc_pid_stat(5), fields 14 and 15.
pub(crate) fn cpu_time_of(id: u32) -> Result<Duration, Fault> {
    let stat = fs::read_to_string(format!("/proc/{id}/stat"))?;
    let (_, fields) = stat
        .rsplit_once(')')
        .ok_or("a process tells nothing of itself")?;
    let times = fields
        .split_whitespace()
        .skip(11)
        .take(2)
        .map(str::parse::<u64>);
    let ticks: u64 = times.sum::<Result<u64, _>>()?;
    Ok(Duration::from_secs_f64(
        ticks as f64 / clock_ticks_per_second() as f64,
    ))
}
