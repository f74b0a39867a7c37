//! The link between a van and the shop: bytes pass until it is cut.
//!
//! It stands for a telephone's signal. It is cut between any two bytes, in either direction; it
//! never changes one.

use std::io::{ErrorKind, Read as _, Write as _};
use std::net::{Shutdown, SocketAddr, TcpListener, TcpStream};
use std::sync::atomic::{AtomicBool, AtomicI64, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::Duration;

/// Bytes that pass before a link is cut which is not to be.
const ENDLESS: i64 = i64::MAX / 2;

/// What the listener, the pumps and the test share.
struct Line {
    up: AtomicBool,
    left_bytes: AtomicI64,
    cut_count: AtomicUsize,
    open: Mutex<Vec<TcpStream>>,
}

impl Line {
    /// Takes this many bytes off what may pass; says how many of them may.
    fn grant(&self, byte_count: usize) -> usize {
        let wanted = i64::try_from(byte_count).unwrap();
        let left = self.left_bytes.fetch_sub(wanted, Ordering::SeqCst);
        usize::try_from(left.clamp(0, wanted)).unwrap()
    }

    fn cut(&self) {
        self.up.store(false, Ordering::SeqCst);
        for stream in self.open.lock().unwrap().drain(..) {
            // It may be closed already.
            let _ = stream.shutdown(Shutdown::Both);
        }
    }
}

/// A link that can be cut and joined.
pub(crate) struct Link {
    line: Arc<Line>,
    address: SocketAddr,
}

impl Link {
    /// A link to an address, joined.
    pub(crate) fn to(far: SocketAddr) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let address = listener.local_addr().unwrap();
        let line = Arc::new(Line {
            up: AtomicBool::new(true),
            left_bytes: AtomicI64::new(ENDLESS),
            cut_count: AtomicUsize::new(0),
            open: Mutex::default(),
        });
        let kept = Arc::clone(&line);
        thread::spawn(move || {
            for near in listener.incoming().flatten() {
                carry(&line, &near, far);
            }
        });
        Self {
            line: kept,
            address,
        }
    }

    /// Where a van reaches it.
    pub(crate) const fn address(&self) -> SocketAddr {
        self.address
    }

    /// Joins it for good.
    pub(crate) fn join(&self) {
        self.line.left_bytes.store(ENDLESS, Ordering::SeqCst);
        self.line.up.store(true, Ordering::SeqCst);
    }

    /// Joins it until so many bytes have passed, both ways together.
    pub(crate) fn join_for(&self, byte_count: i64) {
        self.line.left_bytes.store(byte_count, Ordering::SeqCst);
        self.line.up.store(true, Ordering::SeqCst);
    }

    /// Cuts it now.
    pub(crate) fn cut(&self) {
        self.line.cut();
    }

    /// Cuts so far that came in the middle of what passed.
    pub(crate) fn cut_count(&self) -> usize {
        self.line.cut_count.load(Ordering::SeqCst)
    }
}

/// Carries one connection both ways, if the link is up.
fn carry(line: &Arc<Line>, near: &TcpStream, far: SocketAddr) {
    if !line.up.load(Ordering::SeqCst) {
        return;
    }
    let Ok(away) = TcpStream::connect(far) else {
        return;
    };
    for (from, to) in [(near, &away), (&away, near)] {
        from.set_nodelay(true).unwrap();
        let (from, to) = (from.try_clone().unwrap(), to.try_clone().unwrap());
        line.open.lock().unwrap().push(from.try_clone().unwrap());
        let line = Arc::clone(line);
        thread::spawn(move || pump(&line, from, to));
    }
}

/// Passes bytes on until either end closes or the link is cut.
fn pump(line: &Line, mut from: TcpStream, mut to: TcpStream) {
    from.set_read_timeout(Some(Duration::from_secs(60)))
        .unwrap();
    let mut bytes = [0; 4096];
    loop {
        let count = match from.read(&mut bytes) {
            Ok(0) => break,
            Ok(count) => count,
            Err(error) if error.kind() == ErrorKind::Interrupted => continue,
            Err(_) => break,
        };
        let passing = line.grant(count);
        if to.write_all(&bytes[..passing]).is_err() {
            break;
        }
        if passing < count {
            if line.up.load(Ordering::SeqCst) {
                line.cut_count.fetch_add(1, Ordering::SeqCst);
            }
            line.cut();
            break;
        }
    }
    let _ = to.shutdown(Shutdown::Both);
    let _ = from.shutdown(Shutdown::Both);
}
