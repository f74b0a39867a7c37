//! Processor time of the processes of an engine.

use std::fs;
use std::time::Duration;

/// The processes of an engine, by the first of them.
#[derive(Clone, Copy)]
pub(super) struct Processes(pub(super) u32);

impl Processes {
    /// Processor time of the server and of the processes it has started and that still run, each of
    /// which has one thread. Source: proc_pid_stat(5) for the parent; the kernel's page on scheduler
    /// statistics for the time, which is in nanoseconds and not, as elsewhere, in hundredths of a
    /// second that many short-lived turns never fill.
    pub(super) fn cpu_time(&self) -> Duration {
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
