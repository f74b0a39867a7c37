//! A relay between a store and its engine, on a socket in a file, that cuts the connection when it is told.
//!
//! It counts what comes from the store in one piece as a message: all that the store sends before it waits.

use std::io::{Read, Write};
use std::net::Shutdown;
use std::os::unix::net::{UnixListener, UnixStream};
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, AtomicI64, AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use std::thread;

use tempfile::TempDir;

/// Name of the socket for the port that is used where none is named.
const SOCKET: &str = ".s.PGSQL.5432";

/// Where a connection is cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Cut {
    /// Before a message: the engine never has it.
    Before,
    /// Behind it: the engine has it, and nobody hears the answer.
    After,
}

/// A relay. It ends with the program.
pub(crate) struct Relay {
    folder: TempDir,
    told: Arc<Told>,
}

struct Told {
    engine: PathBuf,
    messages: AtomicU64,
    /// Messages to pass before one is cut at; negative: none is.
    passing: AtomicI64,
    cut: Mutex<Cut>,
    /// What no message may have in it.
    barred: Mutex<Option<&'static [u8]>>,
    has_cut: AtomicBool,
}

impl Relay {
    /// A relay to the engine at an address of the tests.
    pub(crate) fn to(url: &str) -> Self {
        let (_, host) = url.split_once('@').unwrap();
        let (host, _) = host.split_once('/').unwrap();
        let folder = tempfile::tempdir().unwrap();
        let listener = UnixListener::bind(folder.path().join(SOCKET)).unwrap();
        let told = Arc::new(Told {
            engine: PathBuf::from(host.replace("%2F", "/")).join(SOCKET),
            messages: AtomicU64::new(0),
            passing: AtomicI64::new(-1),
            cut: Mutex::new(Cut::Before),
            barred: Mutex::new(None),
            has_cut: AtomicBool::new(false),
        });
        let shared = Arc::clone(&told);
        thread::spawn(move || {
            for store in listener.incoming().map_while(Result::ok) {
                let told = Arc::clone(&shared);
                let engine = UnixStream::connect(&told.engine).unwrap();
                let (back, answers) = (store.try_clone().unwrap(), engine.try_clone().unwrap());
                thread::spawn(move || pass_back(answers, back));
                thread::spawn(move || pass_on(&told, store, engine));
            }
        });
        Self { folder, told }
    }

    /// The same address by way of this relay.
    pub(crate) fn instead_of(&self, url: &str) -> String {
        let (before, rest) = url.split_once('@').unwrap();
        let (_, database) = rest.split_once('/').unwrap();
        let folder = self.folder.path().display().to_string().replace('/', "%2F");
        format!("{before}@{folder}/{database}")
    }

    /// Cuts at the message after the next `passing` ones, once.
    pub(crate) fn cut_at(&self, passing: u64, cut: Cut) {
        *self.told.cut.lock().unwrap() = cut;
        let passing = i64::try_from(passing).unwrap();
        self.told.passing.store(passing, Ordering::SeqCst);
    }

    /// Cuts before each message that has these bytes in it.
    pub(crate) fn cut_each_with(&self, bytes: &'static [u8]) {
        *self.told.barred.lock().unwrap() = Some(bytes);
    }

    pub(crate) fn has_cut(&self) -> bool {
        self.told.has_cut.load(Ordering::SeqCst)
    }

    pub(crate) fn message_count(&self) -> u64 {
        self.told.messages.load(Ordering::SeqCst)
    }
}

/// Passes what comes from the store on.
fn pass_on(told: &Told, mut store: UnixStream, mut engine: UnixStream) {
    let mut buffer = vec![0; 1 << 20];
    while let Ok(count @ 1..) = store.read(&mut buffer) {
        told.messages.fetch_add(1, Ordering::SeqCst);
        let barred = *told.barred.lock().unwrap();
        let is_barred = barred.is_some_and(|bytes| {
            let mut parts = buffer[..count].windows(bytes.len());
            parts.any(|part| part == bytes)
        });
        let is_counted = told.passing.fetch_sub(1, Ordering::SeqCst) == 0;
        let is_cut = is_barred || is_counted;
        let cut = if is_barred {
            Cut::Before
        } else {
            *told.cut.lock().unwrap()
        };
        if is_cut {
            told.has_cut.store(true, Ordering::SeqCst);
            // Nobody hears of what the engine does from here on.
            let _ = store.shutdown(Shutdown::Both);
        }
        if !(is_cut && cut == Cut::Before) {
            let _ = engine.write_all(&buffer[..count]);
        }
        if is_cut {
            break;
        }
    }
    let _ = engine.shutdown(Shutdown::Write);
}

/// Passes the answers back.
fn pass_back(mut engine: UnixStream, mut store: UnixStream) {
    let mut buffer = vec![0; 1 << 20];
    while let Ok(count @ 1..) = engine.read(&mut buffer) {
        if store.write_all(&buffer[..count]).is_err() {
            break;
        }
    }
    let _ = store.shutdown(Shutdown::Both);
}
