//! What was measured of so many shops each, side by side, and what a hundred thousand come to by it.

use std::time::Duration;

use crate::compare::met;
use crate::measure::micros;
use crate::processes::Taken;

/// Shops for which a node makes its promises, and these.
const PROMISED: usize = 1_000;
const MEMORY_MAX_KIB: u64 = 1024 * 1024;
const COLD_MAX: Duration = Duration::from_millis(200);

/// Shops that are reckoned and not measured.
const RECKONED: f64 = 100_000.0;

/// How long some waits were.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Span {
    pub(super) p50: Duration,
    pub(super) p99: Duration,
    pub(super) most: Duration,
}

/// What was measured of so many shops.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Told {
    pub(super) books: usize,
    pub(super) started_in: Duration,
    pub(super) stopped_in: Duration,
    pub(super) at_start: Taken,
    pub(super) all_open: Taken,
    /// With all that was logged since.
    pub(super) at_most: Taken,
    pub(super) all_gone: Taken,
    pub(super) cold_without: Span,
    pub(super) cold_with: Span,
    pub(super) warm: Span,
    pub(super) log: Span,
    pub(super) logs_per_second: f64,
    pub(super) node_cpu_each: Duration,
    pub(super) engine_cpu_each: Duration,
    /// In a second.
    pub(super) statements_at_rest: f64,
    pub(super) node_at_rest: Duration,
    pub(super) engine_at_rest: Duration,
    pub(super) connections: u64,
    pub(super) engine_bytes: u64,
    pub(super) entry_bytes: u64,
    pub(super) office_bytes: u64,
    pub(super) shelf_bytes: u64,
}

impl Told {
    fn count(&self) -> f64 {
        self.books.max(1) as f64
    }

    /// Memory that an open book takes, with the connection of its device.
    fn open_kib(&self) -> f64 {
        let open = self.all_open.memory_kib;
        open.saturating_sub(self.at_start.memory_kib) as f64 / self.count()
    }

    fn each_kib(&self, bytes: u64) -> String {
        format!("{:.0}", bytes as f64 / 1024.0 / self.count())
    }

    fn log_cpu(&self) -> Duration {
        self.node_cpu_each + self.engine_cpu_each
    }
}

/// A row: what it tells, and how.
type Row = (&'static str, fn(&Told) -> String);

const ROWS: [Row; 27] = [
    ("start until it listens, ms", |told| ms(told.started_in)),
    ("memory after the start, MiB", |told| {
        mib(told.at_start.memory_kib)
    }),
    ("  once all were asked", |told| {
        mib(told.all_open.memory_kib)
    }),
    ("  after the logs", |told| mib(told.at_most.memory_kib)),
    ("  at most", |told| mib(told.at_most.memory_most_kib)),
    ("  once all were let go", |told| {
        mib(told.all_gone.memory_kib)
    }),
    ("threads once all were asked", |told| {
        told.all_open.threads.to_string()
    }),
    ("  once all were let go", |told| {
        told.all_gone.threads.to_string()
    }),
    ("cold answer without a shelf, ms: p50", |told| {
        ms(told.cold_without.p50)
    }),
    ("  p99", |told| ms(told.cold_without.p99)),
    ("  most", |told| ms(told.cold_without.most)),
    ("cold answer with its shelf, ms: p50", |told| {
        ms(told.cold_with.p50)
    }),
    ("  p99", |told| ms(told.cold_with.p99)),
    ("  most", |told| ms(told.cold_with.most)),
    ("warm answer, ms: p50", |told| ms(told.warm.p50)),
    ("uses logged, a second", |told| {
        format!("{:.0}", told.logs_per_second)
    }),
    ("  ms: p50", |told| ms(told.log.p50)),
    ("  p99", |told| ms(told.log.p99)),
    ("  processor of the node, µs each", |told| {
        us(told.node_cpu_each)
    }),
    ("  processor of the engine, µs each", |told| {
        us(told.engine_cpu_each)
    }),
    ("at rest: statements a second", |told| {
        format!("{:.1}", told.statements_at_rest)
    }),
    ("  processor of node and engine, ms a second", |told| {
        ms(told.node_at_rest + told.engine_at_rest)
    }),
    ("connections to the engine", |told| {
        told.connections.to_string()
    }),
    ("in the engine, KiB a book", |told| {
        told.each_kib(told.engine_bytes)
    }),
    ("  its entries and their indexes", |told| {
        told.each_kib(told.entry_bytes)
    }),
    ("  the office's lists", |told| {
        told.each_kib(told.office_bytes)
    }),
    ("shelf, KiB a book", |told| told.each_kib(told.shelf_bytes)),
];

/// Prints all of it.
pub(super) fn print(all: &[Told]) {
    print!("\n{:<44}", "shops on one node");
    for told in all {
        print!("{:>14}", told.books);
    }
    println!();
    for (title, figure) in ROWS {
        print!("{title:<44}");
        for told in all {
            print!("{:>14}", figure(told));
        }
        println!();
    }
    for told in all.iter().filter(|told| told.books == PROMISED) {
        judge(told);
    }
    if let Some(most) = all.iter().max_by_key(|told| told.books) {
        reckon(most);
    }
}

/// Says how a node with a thousand shops keeps its promises.
fn judge(told: &Told) {
    let memory = told.at_most.memory_most_kib;
    println!(
        "\n{PROMISED} books: {} MiB at most (at most {}): {}",
        mib(memory),
        mib(MEMORY_MAX_KIB),
        met(memory <= MEMORY_MAX_KIB),
    );
    for (title, cold) in [
        ("without a shelf", told.cold_without),
        ("with its shelf", told.cold_with),
    ] {
        println!(
            "{PROMISED} books: p99 of a cold answer {title} {} ms (at most {}): {}",
            ms(cold.p99),
            ms(COLD_MAX),
            met(cold.p99 <= COLD_MAX),
        );
    }
}

/// Says what a hundred thousand come to by these figures, one by one.
fn reckon(told: &Told) {
    let times = RECKONED / told.count();
    let gib = |bytes: f64| bytes / (1024.0 * 1024.0 * 1024.0);
    println!(
        "\nReckoned from {} books, {RECKONED:.0} shops come to:",
        told.books
    );
    println!(
        "  in the engine {:.0} GiB",
        gib(told.engine_bytes as f64 * times)
    );
    println!(
        "  memory with as many of them open as here {:.0} GiB ({:.0} KiB each), which is {:.0} nodes of 1 GiB",
        gib(told.open_kib() * 1024.0 * RECKONED),
        told.open_kib(),
        (told.open_kib() * RECKONED / MEMORY_MAX_KIB as f64).ceil(),
    );
    println!(
        "  at rest with as many of them open {:.0} statements a second, {:.2} processors",
        told.statements_at_rest * times,
        (told.node_at_rest + told.engine_at_rest).as_secs_f64() * times,
    );
    println!(
        "  a hundred uses a day each, in ten hours: {:.0} a second, {:.2} processors",
        RECKONED * 100.0 / 36_000.0,
        RECKONED * 100.0 / 36_000.0 * told.log_cpu().as_secs_f64(),
    );
}

fn ms(time: Duration) -> String {
    format!("{:.1}", micros(time) / 1e3)
}

fn us(time: Duration) -> String {
    format!("{:.0}", micros(time))
}

fn mib(kib: u64) -> String {
    format!("{:.0}", kib as f64 / 1024.0)
}
