//! What many shops cost on one node: memory, the first answer of a book that nobody had open, uses logged from all of
//! them, what goes on while nobody asks anything, and room in the engine.
//!
//! It serves the promises of a node with a thousand books, and whoever reckons what more of them take. The engine is
//! one of its own that syncs every commit, the node a real `fettled` as a process of its own, over TLS and with a
//! token for each shop. All of it shares the processors of one machine with the devices.
//!
//! ```text
//! cargo build --profile bench --features postgres --bin fettled &&
//!   cargo run --profile bench -p fettlebook-bench --features engine -- shops --books 10,100,1000 --round-ms 5000
//! ```

mod devices;
mod filled;
mod node;
mod table;

use std::fs;
use std::path::Path;
use std::thread::sleep;
use std::time::{Duration, Instant};

use fettlebook_server::store::{EngineBook, tables};
use fettlebook_yard::engine::{Engine, Setting, own_engine};
use rustix::process::{Resource, Rlimit, getrlimit, setrlimit};
use tokio::runtime::Runtime;

use crate::Fault;
use crate::measure::at;
use crate::plan::Plan;
use crate::processes::Processes;
use crate::sizes::space;

use devices::Devices;
use filled::{Pattern, Shop};
use node::Node;
use table::{Span, Told};

/// Who serves.
const SERVING: &str = "DO $$ BEGIN
    CREATE ROLE serving LOGIN INHERIT IN ROLE fettle_service;
EXCEPTION WHEN duplicate_object OR unique_violation THEN NULL; END $$;";

/// How long nobody asks anything while it is looked what goes on all the same, in rounds.
const REST: u32 = 3;

/// How long until a book goes: longer than anything here takes, and shortly.
const NEVER: &str = "6h";
const SOON: &str = "2s";

/// Longest time until something that comes by itself was done for all books.
const ALL_MAX: Duration = Duration::from_secs(300);
const LOOK_EVERY: Duration = Duration::from_millis(100);

pub(crate) fn run(plan: &Plan, folder: &Path) -> Result<(), Fault> {
    let program = node::program()?;
    let setting = Setting {
        synced_in: Some(folder),
        ..Setting::default()
    };
    let Some(engine) = own_engine(setting) else {
        return Ok(());
    };
    may_open_many()?;
    let runtime = Runtime::new()?;
    let entry_count = plan.entries.first().copied().unwrap_or_default();
    let pattern = Pattern::written(&runtime, folder, entry_count)?;
    println!(
        "Each shop has {entry_count} entries of {} B and a device; {} call at once for {:?}.",
        pattern.entry_bytes(),
        callers(plan),
        plan.round,
    );
    let mut all = Vec::new();
    for &count in &plan.books {
        let place = folder.join(format!("shops-{count}"));
        let begun = Instant::now();
        let filled = fill(&engine, &pattern, count, &place)?;
        println!(
            "{count:>6} books filled in {:.1?}: {}",
            begun.elapsed(),
            filled.verified
        );
        let measured = Measured {
            plan,
            runtime: &runtime,
            engine: &engine,
            program: &program,
            filled: &filled,
            place: &place,
        };
        all.push(measured.told()?);
    }
    table::print(&all);
    Ok(())
}

fn callers(plan: &Plan) -> usize {
    plan.callers.iter().copied().max().unwrap_or(1)
}

/// Each device has a connection, more than a process has by itself.
fn may_open_many() -> Result<(), Fault> {
    let now = getrlimit(Resource::Nofile);
    let most = Rlimit {
        current: now.maximum,
        ..now
    };
    Ok(setrlimit(Resource::Nofile, most)?)
}

/// The books of an engine.
struct Filled {
    database: String,
    url: String,
    shops: Vec<Shop>,
    /// Bytes of the database before.
    empty_bytes: u64,
    /// What the verifier says of one of them.
    verified: String,
}

fn fill(engine: &Engine, pattern: &Pattern, count: usize, place: &Path) -> Result<Filled, Fault> {
    let database = engine.database(&[tables(0).as_str(), SERVING].concat());
    let url = engine.url("serving", &database);
    let empty_bytes = engine.ask(&database, SIZE).parse()?;
    let ids = filled::begin(engine, &database, count);
    let node = place.join("filling");
    fs::create_dir_all(&node)?;
    let store = EngineBook {
        url: &url,
        node: &node,
        authority: None,
        book: None,
        address: None,
    };
    let shops = pattern.fill_all(&store.store()?, &ids)?;
    let last = shops.last().ok_or("no books were asked for")?;
    let verified = filled::verified(engine, &database, last.id, place)?;
    // As the engine does by itself within a minute.
    engine.run(&database, "VACUUM ANALYZE");
    Ok(Filled {
        database,
        url,
        shops,
        empty_bytes,
        verified,
    })
}

/// What is measured, and on what.
struct Measured<'a> {
    plan: &'a Plan,
    runtime: &'a Runtime,
    engine: &'a Engine,
    program: &'a Path,
    filled: &'a Filled,
    place: &'a Path,
}

impl Measured<'_> {
    fn told(&self) -> Result<Told, Fault> {
        let mut told = Told {
            books: self.filled.shops.len(),
            ..Told::default()
        };
        self.without_shelves(&mut told)?;
        self.with_shelves(&mut told)?;
        Ok(told)
    }

    /// Starts a node on a machine that has the seal of the others, and nothing else yet but what is in its folder.
    fn start(&self, let_go_after: &str) -> Result<Node, Fault> {
        let folder = self.place.join("node");
        fs::create_dir_all(&folder)?;
        fs::copy(self.place.join("filling/seal.key"), folder.join("seal.key"))?;
        Node::start(self.program, &self.filled.url, &folder, let_go_after)
    }

    fn number(&self, sql: &str) -> Result<u64, Fault> {
        Ok(self.engine.ask(&self.filled.database, sql).parse()?)
    }

    /// Waits until there is no book any more of which something is not so.
    fn await_all(&self, what: &str, left: &str) -> Result<(), Fault> {
        let begun = Instant::now();
        while self.number(left)? > 0 {
            if begun.elapsed() > ALL_MAX {
                return Err(format!("after {ALL_MAX:?} it is not so that {what}").into());
            }
            sleep(LOOK_EVERY);
        }
        Ok(())
    }

    /// A node that has no shelf of any book, and never lets go of one.
    fn without_shelves(&self, told: &mut Told) -> Result<(), Fault> {
        let node = self.start(NEVER)?;
        told.started_in = node.started_in;
        told.at_start = node.taken()?;
        let (devices, cold) = Devices::come(self.runtime, node.address, &self.filled.shops)?;
        told.cold_without = Span::of(&cold);
        told.all_open = node.taken()?;
        told.warm = Span::of(&devices.ask_again(self.runtime)?);
        self.await_all(
            "the office's lists of all open books are laid out",
            NOT_LAID_OUT,
        )?;
        self.rest(&node, told)?;
        told.connections = self.number(SESSIONS)?;
        let size =
            |table: &str| self.number(&format!("SELECT pg_total_relation_size('fettle.{table}')"));
        told.entry_bytes = size("entry")?;
        told.office_bytes = size("answer")?;
        told.engine_bytes = self.number(SIZE)?.saturating_sub(self.filled.empty_bytes);
        told.shelf_bytes = space(&self.place.join("node/shelf"))?.byte_count;
        self.log(&node, &devices, told)?;
        told.at_most = node.taken()?;
        drop(devices);
        told.stopped_in = node.stop()?;
        Ok(())
    }

    /// Uses logged from all shops, and the processor time of each.
    fn log(&self, node: &Node, devices: &Devices, told: &mut Told) -> Result<(), Fault> {
        let callers = callers(self.plan);
        let engine = Processes(self.engine.process().ok_or("it has ended")?);
        let (node_before, engine_before) = (node.cpu()?, engine.cpu_time());
        let begun = Instant::now();
        let waits = devices.log(self.runtime, callers, self.plan.round)?;
        let count = waits.len().max(1) as f64;
        told.logs_per_second = count / begun.elapsed().as_secs_f64();
        told.log = Span::of(&waits);
        told.node_cpu_each = node.cpu()?.saturating_sub(node_before).div_f64(count);
        told.engine_cpu_each = engine
            .cpu_time()
            .saturating_sub(engine_before)
            .div_f64(count);
        Ok(())
    }

    /// What goes on while all books are open and nobody asks anything.
    fn rest(&self, node: &Node, told: &mut Told) -> Result<(), Fault> {
        let engine = Processes(self.engine.process().ok_or("it has ended")?);
        let before = self.number(TRANSACTIONS)?;
        let (node_before, engine_before) = (node.cpu()?, engine.cpu_time());
        let begun = Instant::now();
        sleep(self.plan.round * REST);
        let took = begun.elapsed().as_secs_f64();
        let done = self.number(TRANSACTIONS)?.saturating_sub(before);
        told.statements_at_rest = done as f64 / took;
        told.node_at_rest = node.cpu()?.saturating_sub(node_before).div_f64(took);
        told.engine_at_rest = engine
            .cpu_time()
            .saturating_sub(engine_before)
            .div_f64(took);
        Ok(())
    }

    /// The same machine again, which has the shelves now, and lets go of what nobody uses.
    fn with_shelves(&self, told: &mut Told) -> Result<(), Fault> {
        let node = self.start(SOON)?;
        let (devices, cold) = Devices::come(self.runtime, node.address, &self.filled.shops)?;
        told.cold_with = Span::of(&cold);
        // The only book there is is held whether anybody asks for it or not.
        if self.filled.shops.len() > 1 {
            self.await_all("what nobody uses was let go", OPEN)?;
        }
        told.all_gone = node.taken()?;
        drop(devices);
        node.stop()?;
        Ok(())
    }
}

/// What the engine did in this database so far: each statement of a node is a transaction.
const TRANSACTIONS: &str =
    "SELECT xact_commit + xact_rollback FROM pg_stat_database WHERE datname = current_database()";

/// Bytes of the database, in which a database without books takes some too.
const SIZE: &str = "SELECT pg_database_size(current_database())";

const SESSIONS: &str =
    "SELECT count(*) FROM pg_stat_activity WHERE application_name LIKE 'fettled %'";

/// Books that a node has, and those of them of which the office's lists are not there.
const OPEN: &str = "SELECT count(*) FROM fettle.book WHERE holder IS NOT NULL";
const NOT_LAID_OUT: &str = "SELECT count(*) FROM fettle.book AS book WHERE holder IS NOT NULL AND NOT EXISTS \
     (SELECT FROM fettle.laid_out AS laid WHERE laid.book = book.id AND laid.at IS NOT NULL)";

impl Span {
    fn of(waits: &[Duration]) -> Self {
        Self {
            p50: at(waits, 0.5),
            p99: at(waits, 0.99),
            most: at(waits, 1.0),
        }
    }
}
