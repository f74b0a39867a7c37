//! Books by the hundred in one engine, each with the entries that a desk wrote, and a device that is paired.
//!
//! A desk fills one, in a folder. The others have its entries, the first of which names the book; the store that
//! `fettled` has writes them and chains them anew.

use std::fs;
use std::net::{Ipv4Addr, SocketAddr};
use std::path::Path;
use std::process::Command;
use std::thread;
use std::time::Duration;

use fettlebook_server::access::{Access, Credentials, Invite, Role, ServiceNote, invite};
use fettlebook_server::desk::{Clock as _, SystemClock};
use fettlebook_server::journal::{FileReader, Line, Position, Reader as _};
use fettlebook_server::store::{Asked, PostgresStore, Store as _};
use fettlebook_yard::engine::Engine;
use serde_json::Value;
use tokio::runtime::Runtime;
use tonic::metadata::{Ascii, MetadataValue};
use uuid::Uuid;

use crate::Fault;
use crate::desk;
use crate::lines::request_of;
use crate::sizes::fill_up;

/// Lines that are appended together.
const GROUP_COUNT: usize = 256;

/// Books that are filled at once: the commit of one does not hold up the next.
const AT_ONCE: usize = 4;

/// The verifier that knows nothing but the documented form of a journal.
const VERIFIER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../verify_journal.py");

/// The entries of a book, for others to have.
pub(super) struct Pattern {
    lines: Vec<Line>,
    /// The id that the first of them names.
    id: String,
}

/// A book, and what its device sends with every request.
#[derive(Clone)]
pub(super) struct Shop {
    pub(super) id: Uuid,
    pub(super) token: MetadataValue<Ascii>,
}

impl Pattern {
    /// So many entries, as a desk writes them.
    pub(super) fn written(
        runtime: &Runtime,
        folder: &Path,
        entry_count: u64,
    ) -> Result<Self, Fault> {
        let book = folder.join("pattern");
        let desk = desk::open(&book)?;
        runtime.block_on(fill_up(&desk, entry_count))?;
        let head = desk.standing().head.seq;
        runtime.block_on(desk.close())?;
        let mut lines = Vec::new();
        for line in FileReader::new(book.join("journal")).read(Position::START, head)? {
            let line = line?;
            lines.push(Line {
                request: Some(request_of(&line.entry)?),
                bytes: line.given(),
            });
        }
        let first = lines.first().ok_or("the desk wrote nothing")?;
        let first: Value = serde_json::from_slice(&first.bytes)?;
        let id = first.get("book_id").and_then(Value::as_str);
        Ok(Self {
            id: id.ok_or("the first entry names no book")?.to_owned(),
            lines,
        })
    }

    /// Bytes of an entry, as they are kept.
    pub(super) fn entry_bytes(&self) -> usize {
        let all: usize = self.lines.iter().map(|line| line.bytes.len()).sum();
        all / self.lines.len().max(1)
    }

    /// Fills books of an engine, several at a time, and pairs a device with each.
    pub(super) fn fill_all(
        &self,
        store: &PostgresStore,
        books: &[Uuid],
    ) -> Result<Vec<Shop>, Fault> {
        let fill = |part: &[Uuid]| -> Result<Vec<Shop>, Fault> {
            let shops = part.iter().map(|id| self.fill(&store.of_book(*id), *id));
            shops.collect()
        };
        let parts = thread::scope(|scope| {
            let parts = books.chunks(books.len().div_ceil(AT_ONCE).max(1));
            let filling: Vec<_> = parts.map(|part| scope.spawn(move || fill(part))).collect();
            let parts = filling
                .into_iter()
                .map(|part| part.join().map_err(|_| "filling broke off")?);
            parts.collect::<Result<Vec<_>, Fault>>()
        })?;
        Ok(parts.concat())
    }

    /// Gives a book that has none these entries, and pairs a device with it.
    fn fill(&self, store: &PostgresStore, id: Uuid) -> Result<Shop, Fault> {
        let now = SystemClock.now();
        let right = store.take(&Asked {
            new_book_id: id,
            now,
            wait: Duration::ZERO,
            mid_move: false,
        })?;
        right.settle();
        let found = right.reader().survey(None, None, &mut |_| Ok(()))?;
        let (mut journal, mut proof) = (right.journal(&found)?, right.proof());
        for group in self.lines_of(id)?.chunks(GROUP_COUNT) {
            let marks = journal.append(&journal.head(), group)?;
            proof.extend(&marks, journal.reached());
        }
        // As a desk that closes leaves it.
        proof.keep()?;
        journal.close()?;
        let cabinet = store.cabinet();
        let credentials = Credentials::own(&*cabinet, &[], now)?;
        let listens = SocketAddr::from((Ipv4Addr::LOCALHOST, 0));
        let note = ServiceNote::new(listens, credentials.fingerprint());
        let asked = Invite {
            name: "van-a".parse()?,
            role: Role::Own,
            by: "local".to_owned(),
            at: None,
            again: false,
            office: None,
        };
        let code = invite(&*cabinet, &asked, now)?.code;
        let access = Access::open(cabinet, id, &note)?;
        let paired = access.pair(&code.secret, [7; 32], listens.ip(), now)?;
        Ok(Shop {
            id,
            token: format!("Bearer {}", paired.token).parse()?,
        })
    }

    fn lines_of(&self, id: Uuid) -> Result<Vec<Line>, Fault> {
        let mut lines = self.lines.clone();
        if let Some(first) = lines.first_mut() {
            let text = std::str::from_utf8(&first.bytes)?;
            first.bytes = text.replacen(&self.id, &id.to_string(), 1).into_bytes();
        }
        Ok(lines)
    }
}

/// Makes rows of books without entries.
pub(super) fn begin(engine: &Engine, database: &str, count: usize) -> Vec<Uuid> {
    let ids: Vec<Uuid> = (0..count).map(|_| Uuid::now_v7()).collect();
    let rows: Vec<String> = ids.iter().map(|id| format!("('{id}', '{id}')")).collect();
    let rows = rows.join(", ");
    engine.run(
        database,
        &format!("INSERT INTO fettle.book (id, incarnation) VALUES {rows}"),
    );
    ids
}

/// What the verifier says of a book's rows, without any program of ours.
pub(super) fn verified(
    engine: &Engine,
    database: &str,
    id: Uuid,
    folder: &Path,
) -> Result<String, Fault> {
    let rows = folder.join(id.to_string());
    fs::create_dir_all(&rows)?;
    let lines = engine.ask(
        database,
        &format!(
            "SELECT '{{\"chain\":\"' || chain || '\",\"entry\":' || convert_from(bytes, 'UTF8') || '}}'
             FROM fettle.entry WHERE book = '{id}' ORDER BY seq"
        ),
    );
    fs::write(rows.join("000000000001.jsonl"), lines + "\n")?;
    let said = match Command::new("python3").arg(VERIFIER).arg(&rows).output() {
        Ok(said) => said,
        Err(error) => return Ok(format!("not verified, for python3 cannot be run: {error}")),
    };
    if !said.status.success() {
        let why = String::from_utf8_lossy(&said.stderr).into_owned();
        return Err(format!("a book that was filled is not whole: {why}").into());
    }
    Ok(String::from_utf8_lossy(&said.stdout).trim().to_owned())
}
