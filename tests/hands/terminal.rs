//! A terminal of its own for the real client, and somebody who presses keys at it.

use std::fs::File;
use std::io::{Read as _, Write as _};
use std::num::NonZero;
use std::os::fd::OwnedFd;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Condvar, Mutex};
use std::thread;
use std::time::{Duration, Instant};

use rustix::fs::{Mode, OFlags};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{Winsize, tcsetwinsize};

/// How long a question may take to come, on a machine that builds beside it.
const PATIENCE: Duration = Duration::from_secs(60);

/// What came out so far.
#[derive(Default)]
struct Heard {
    bytes: Vec<u8>,
    ended: bool,
}

/// Whether a terminal shows colours.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Look {
    Plain,
    Coloured,
}

/// A client at a terminal.
pub(crate) struct Terminal {
    /// Its columns and rows.
    size: (u16, u16),
    child: Child,
    keys: File,
    heard: Arc<(Mutex<Heard>, Condvar)>,
    /// Letters of the plain text that were waited for.
    read: usize,
    /// Keys pressed so far.
    pub(crate) key_count: usize,
}

impl Terminal {
    /// Runs the client on a book at a terminal of so many columns and 24 rows, without colours.
    pub(crate) fn start(book: &Path, home: &Path, columns: u16, args: &[&str]) -> Self {
        Self::sized(book, home, (columns, 24), Look::Plain, args)
    }

    /// Runs the client on a book at a terminal of so many columns and rows.
    pub(crate) fn sized(
        book: &Path,
        home: &Path,
        size: (u16, u16),
        look: Look,
        args: &[&str],
    ) -> Self {
        let ours = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).unwrap();
        grantpt(&ours).unwrap();
        unlockpt(&ours).unwrap();
        let name = ptsname(&ours, Vec::new()).unwrap();
        let theirs = rustix::fs::open(&name, OFlags::RDWR | OFlags::NOCTTY, Mode::empty()).unwrap();
        let window = Winsize {
            ws_row: size.1,
            ws_col: size.0,
            ws_xpixel: 0,
            ws_ypixel: 0,
        };
        tcsetwinsize(&theirs, window).unwrap();
        let end = |fd: &OwnedFd| Stdio::from(fd.try_clone().unwrap());
        let mut command = Command::new(env!("CARGO_BIN_EXE_fettle"));
        match look {
            Look::Plain => command.env("NO_COLOR", "1"),
            Look::Coloured => command.env_remove("NO_COLOR"),
        };
        let child = command
            .arg("--book")
            .arg(book)
            .args(args)
            .env("XDG_STATE_HOME", home)
            .env("XDG_DATA_HOME", home)
            .env("TZ", "UTC")
            .env("LC_ALL", "en_IE.UTF-8")
            .env("TERM", "xterm")
            .stdin(end(&theirs))
            .stdout(end(&theirs))
            .stderr(end(&theirs))
            .spawn()
            .unwrap();
        drop(theirs);
        let heard = Arc::new((Mutex::new(Heard::default()), Condvar::new()));
        let mut from = File::from(ours.try_clone().unwrap());
        let to = Arc::clone(&heard);
        thread::spawn(move || {
            let mut some = [0_u8; 4096];
            loop {
                // Where nobody has the other end any more a terminal fails.
                let count = from.read(&mut some).unwrap_or(0);
                let mut heard = to.0.lock().unwrap();
                heard.bytes.extend_from_slice(&some[..count]);
                heard.ended = count == 0;
                to.1.notify_all();
                if count == 0 {
                    return;
                }
            }
        });
        Self {
            size,
            child,
            keys: File::from(ours),
            heard,
            read: 0,
            key_count: 0,
        }
    }

    /// Waits until something new is asked or said.
    pub(crate) fn hears(&mut self, words: &str) {
        let until = Instant::now() + PATIENCE;
        let mut heard = self.heard.0.lock().unwrap();
        loop {
            let said = plain(&heard.bytes);
            let new = said.get(self.read..).unwrap_or_default();
            if let Some(at) = new.find(words) {
                self.read += at + words.len();
                return;
            }
            assert!(
                !heard.ended && Instant::now() < until,
                "'{words}' is never said:\n{new}"
            );
            let wait = Duration::from_millis(200);
            heard = self.heard.1.wait_timeout(heard, wait).unwrap().0;
        }
    }

    /// All that was said so far, in plain text.
    pub(crate) fn heard(&self) -> String {
        plain(&self.heard.0.lock().unwrap().bytes)
    }

    /// The screen as a person sees it once nothing more comes, with the signs for colours as `^[…m`.
    pub(crate) fn screen(&self) -> String {
        /// How long nothing comes from a client that waits for keys.
        const QUIET: Duration = Duration::from_millis(150);
        let mut heard = self.heard.0.lock().unwrap();
        loop {
            let before = heard.bytes.len();
            let (after, waited) = self.heard.1.wait_timeout(heard, QUIET).unwrap();
            heard = after;
            if heard.ended || (waited.timed_out() && heard.bytes.len() == before) {
                return shown(self.size, &heard.bytes);
            }
        }
    }

    /// Presses keys, each counted once; `\r` is Enter and `\u{1b}` Esc.
    pub(crate) fn press(&mut self, keys: &str) {
        self.key_count += keys.chars().count();
        self.keys.write_all(keys.as_bytes()).unwrap();
        self.keys.flush().unwrap();
    }

    /// Answers a question with keys.
    pub(crate) fn answers(&mut self, question: &str, keys: &str) {
        self.hears(question);
        self.press(keys);
    }

    /// The exit code, and the screen at the end.
    pub(crate) fn ends_as_seen(mut self) -> (Option<i32>, String) {
        let code = self.wait();
        (code, self.screen())
    }

    /// The exit code, and all that was said in plain text.
    pub(crate) fn ends(mut self) -> (Option<i32>, String) {
        let code = self.wait();
        (code, self.heard())
    }

    /// Waits for the end, and hears all of it.
    fn wait(&mut self) -> Option<i32> {
        let until = Instant::now() + PATIENCE;
        let code = loop {
            if let Some(status) = self.child.try_wait().unwrap() {
                break status.code();
            }
            let heard = plain(&self.heard.0.lock().unwrap().bytes);
            assert!(Instant::now() < until, "it does not end:\n{heard}");
            thread::sleep(Duration::from_millis(20));
        };
        let mut heard = self.heard.0.lock().unwrap();
        while !heard.ended && Instant::now() < until {
            let wait = Duration::from_millis(100);
            heard = self.heard.1.wait_timeout(heard, wait).unwrap().0;
        }
        code
    }
}

impl Drop for Terminal {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// The screen of a terminal of so many columns and rows that was told this, row by row to the last that has
/// anything.
fn shown((columns, rows): (u16, u16), bytes: &[u8]) -> String {
    let whole = |count: u16| NonZero::new(count).unwrap();
    let mut emulation = vt100::Parser::new(whole(rows), whole(columns), 0);
    emulation.process(bytes);
    let rows = emulation.screen().rows_formatted(0, columns);
    let rows = rows.map(|row| row.replace('\u{1b}', "^"));
    let rows: Vec<String> = rows.map(|row| row.trim_end().to_owned()).collect();
    rows.join("\n").trim_end().to_owned()
}

/// What a terminal is told, without the signs that move its cursor.
fn plain(bytes: &[u8]) -> String {
    let text = String::from_utf8_lossy(bytes);
    let mut plain = String::new();
    let mut letters = text.chars().peekable();
    while let Some(letter) = letters.next() {
        match letter {
            '\u{1b}' => {
                if letters.next() == Some('[') {
                    // A sequence ends with its first letter.
                    for sign in letters.by_ref() {
                        if sign.is_ascii_alphabetic() || sign == '~' {
                            break;
                        }
                    }
                }
            }
            '\r' => {}
            letter => plain.push(letter),
        }
    }
    plain
}
