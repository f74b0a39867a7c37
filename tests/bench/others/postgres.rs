//! PostgreSQL: a row an entry, each caller with a connection of its own, or groups through one; and a book kept in
//! it.
//!
//! Its settings are its own defaults, which sync every commit. Its processes count when processor
//! time is told.

mod kept;

use std::sync::Arc;
use std::time::{Duration, Instant};

use fettlebook_server::store::tables;
use fettlebook_yard::engine::{BOSS, Engine};
use tokio::runtime::Handle;
use tokio_postgres::{Client, NoTls, Statement};
use uuid::Uuid;

use crate::Fault;
use crate::compare::{Entrant, Ground, Named};
use crate::grouped::{Given, Grouped, Store};
use crate::measure::cpu_time;
use crate::others::{ENGINE_BARE, ENGINE_BOOK};
use crate::processes::Processes;
use crate::shop::Requests;

use kept::Kept;

/// Most callers with a connection of their own: more than its default takes are no fair test.
const CONNECTION_COUNT_MAX: usize = 64;

const EACH: &str = "PostgreSQL, a connection each";

/// The database that it has by itself.
const DATABASE: &str = "postgres";

const TABLES: &str = "DROP TABLE IF EXISTS entry, grouped; CREATE TABLE entry (seq bigint GENERATED ALWAYS \
                      AS IDENTITY PRIMARY KEY, request bytea UNIQUE, line bytea); \
                      CREATE TABLE grouped (LIKE entry INCLUDING ALL)";
const INSERT: &str = "INSERT INTO entry (request, line) VALUES ($1, $2)";
const INSERT_GROUP: &str =
    "INSERT INTO grouped (request, line) SELECT * FROM unnest($1::bytea[], $2::bytea[])";

/// Empty tables and the connections of their callers, and an empty book.
pub(crate) fn entrants(
    engine: &Engine,
    ground: &Ground,
    callers: usize,
) -> Result<Vec<Named>, Fault> {
    let runtime = ground.runtime;
    engine.run(DATABASE, TABLES);
    let url = engine.url(BOSS, DATABASE);
    let processes = Processes(engine.process().ok_or("it has ended")?);
    let prepared = |statement: &'static str| {
        runtime.block_on(async {
            let (client, connection) = tokio_postgres::connect(&url, NoTls).await?;
            tokio::spawn(connection);
            let statement = client.prepare(statement).await?;
            Ok::<_, tokio_postgres::Error>(Arc::new((client, statement)))
        })
    };
    let counted = |grouped| Counted { grouped, processes };
    let group = Group {
        runtime: runtime.clone(),
        connection: prepared(INSERT_GROUP)?,
    };
    let grouped = Grouped::start(runtime, ground.line, group)?;
    let url = engine.url(BOSS, &engine.database(&tables(0)));
    let kept = Kept::begin(&url, &ground.folder.join("node"))?;
    let kept = Grouped::start(runtime, ground.line, kept)?;
    let mut entrants: Vec<Named> = vec![
        (ENGINE_BARE, Box::new(counted(grouped))),
        (ENGINE_BOOK, Box::new(counted(kept))),
    ];
    if callers <= CONNECTION_COUNT_MAX {
        let connections = (0..callers).map(|_| prepared(INSERT));
        let each = Each {
            runtime: runtime.clone(),
            line: Arc::clone(ground.line),
            connections: connections.collect::<Result<_, _>>()?,
            processes,
        };
        entrants.insert(0, (EACH, Box::new(each)));
    }
    Ok(entrants)
}

type Prepared = Arc<(Client, Statement)>;

/// Callers with a connection each; every row is a commit of its own.
struct Each {
    runtime: Handle,
    line: Arc<[u8]>,
    connections: Vec<Prepared>,
    processes: Processes,
}

impl Entrant for Each {
    fn call(&self, _: usize, round: Duration) -> Result<Vec<Duration>, Fault> {
        self.runtime.block_on(async {
            let calls = self.connections.iter().map(|connection| {
                let line = Arc::clone(&self.line);
                tokio::spawn(call_for(Arc::clone(connection), line, round))
            });
            let mut waits = Vec::new();
            for call in calls.collect::<Vec<_>>() {
                waits.extend(call.await??);
            }
            Ok(waits)
        })
    }

    fn cpu(&self) -> Duration {
        cpu_time() + self.processes.cpu_time()
    }

    fn close(self: Box<Self>) -> Result<(), Fault> {
        Ok(())
    }
}

async fn call_for(
    connection: Prepared,
    line: Arc<[u8]>,
    round: Duration,
) -> Result<Vec<Duration>, tokio_postgres::Error> {
    let (client, insert) = &*connection;
    let (start, mut waits, mut requests) = (Instant::now(), Vec::new(), Requests::begin());
    while start.elapsed() < round {
        let begun = Instant::now();
        let request: Uuid = requests.next();
        let request = request.as_bytes().as_slice();
        client.execute(insert, &[&request, &line.as_ref()]).await?;
        waits.push(begun.elapsed());
    }
    Ok(waits)
}

/// Groups through one connection, each one statement and so one transaction.
struct Group {
    runtime: Handle,
    connection: Prepared,
}

impl Store for Group {
    fn commit(&mut self, group: &[Given]) -> Result<(), Fault> {
        let (client, insert) = &*self.connection;
        let requests: Vec<&[u8]> = group
            .iter()
            .map(|given| given.request.as_bytes().as_slice())
            .collect();
        let lines: Vec<&[u8]> = group.iter().map(|given| given.line.as_ref()).collect();
        self.runtime
            .block_on(client.execute(insert, &[&requests, &lines]))?;
        Ok(())
    }
}

/// A grouped store whose processes count too.
struct Counted {
    grouped: Grouped,
    processes: Processes,
}

impl Entrant for Counted {
    fn call(&self, callers: usize, round: Duration) -> Result<Vec<Duration>, Fault> {
        self.grouped.call(callers, round)
    }

    fn cpu(&self) -> Duration {
        cpu_time() + self.processes.cpu_time()
    }

    fn close(self: Box<Self>) -> Result<(), Fault> {
        self.grouped.close()
    }
}
