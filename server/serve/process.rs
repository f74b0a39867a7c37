//! What the process takes of the machine, under the names that programs look for.
//!
//! Source: <https://prometheus.io/docs/instrumenting/writing_clientlibs/#process-metrics>. They have no prefix of
//! ours. Where the system does not say something, it is left out.

use std::fmt;
use std::fs;

use prometheus_client::collector::Collector;
use prometheus_client::encoding::{DescriptorEncoder, EncodeMetric};
use prometheus_client::metrics::counter::ConstCounter;
use prometheus_client::metrics::gauge::ConstGauge;
use prometheus_client::registry::Unit;

/// The process, looked at when a scrape comes.
#[derive(Debug)]
pub(super) struct Process {
    /// When the service was started, in seconds since 1970.
    pub(super) started_s: i64,
}

impl Collector for Process {
    fn encode(&self, encoder: DescriptorEncoder<'_>) -> Result<(), fmt::Error> {
        let mut told = Told(encoder);
        told.figure(
            (
                "process_start_time",
                "When the service was started, since 1970 UTC",
            ),
            Some(&Unit::Seconds),
            Some(&ConstGauge::new(self.started_s)),
        )?;
        told.figure(
            (
                "process_cpu",
                "Processor time that the service took, user and system",
            ),
            Some(&Unit::Seconds),
            cpu_s().map(ConstCounter::new).as_ref(),
        )?;
        let (virtual_bytes, resident_bytes) = memory_bytes().unzip();
        told.figure(
            ("process_virtual_memory", "Address space of the service"),
            Some(&Unit::Bytes),
            virtual_bytes.map(ConstGauge::new).as_ref(),
        )?;
        told.figure(
            (
                "process_resident_memory",
                "Memory that the service really has",
            ),
            Some(&Unit::Bytes),
            resident_bytes.map(ConstGauge::new).as_ref(),
        )?;
        told.figure(
            (
                "process_open_fds",
                "Files and connections that the service has open",
            ),
            None,
            open_files().map(ConstGauge::new).as_ref(),
        )?;
        told.figure(
            (
                "process_max_fds",
                "Files and connections that it may have open",
            ),
            None,
            files_max().map(ConstGauge::new).as_ref(),
        )
    }
}

/// Where figures are told.
struct Told<'a>(DescriptorEncoder<'a>);

impl Told<'_> {
    /// Tells a figure by its name and what it is, where it is known.
    fn figure(
        &mut self,
        (name, help): (&str, &str),
        unit: Option<&Unit>,
        figure: Option<&impl EncodeMetric>,
    ) -> Result<(), fmt::Error> {
        let Some(figure) = figure else {
            return Ok(());
        };
        let encoder = self
            .0
            .encode_descriptor(name, help, unit, figure.metric_type())?;
        figure.encode(encoder)
    }
}

/// Processor time of this process.
#[cfg(unix)]
fn cpu_s() -> Option<f64> {
    let took = rustix::time::clock_gettime(rustix::time::ClockId::ProcessCPUTime);
    let took = std::time::Duration::new(
        u64::try_from(took.tv_sec).ok()?,
        u32::try_from(took.tv_nsec).ok()?,
    );
    Some(took.as_secs_f64())
}

/// The system is not asked here.
#[cfg(not(unix))]
const fn cpu_s() -> Option<f64> {
    None
}

/// Address space and memory of this process, in bytes. Source: proc_pid_statm(5), in pages.
fn memory_bytes() -> Option<(i64, i64)> {
    let text = fs::read_to_string("/proc/self/statm").ok()?;
    let mut pages = text.split_whitespace().map(str::parse::<i64>);
    let (all, resident) = (pages.next()?.ok()?, pages.next()?.ok()?);
    let page_bytes = page_bytes()?;
    Some((
        all.saturating_mul(page_bytes),
        resident.saturating_mul(page_bytes),
    ))
}

#[cfg(unix)]
fn page_bytes() -> Option<i64> {
    i64::try_from(rustix::param::page_size()).ok()
}

/// The system is not asked here.
#[cfg(not(unix))]
const fn page_bytes() -> Option<i64> {
    None
}

/// Files that this process has open; the one by which they are listed is not counted.
fn open_files() -> Option<i64> {
    let listed = fs::read_dir("/proc/self/fd").ok()?.count();
    i64::try_from(listed.saturating_sub(1)).ok()
}

/// Files that it may have open.
#[cfg(unix)]
fn files_max() -> Option<i64> {
    let limit = rustix::process::getrlimit(rustix::process::Resource::Nofile);
    i64::try_from(limit.current?).ok()
}

/// The system is not asked here.
#[cfg(not(unix))]
const fn files_max() -> Option<i64> {
    None
}
