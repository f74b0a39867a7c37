//! A page that is longer than the window is read in a pager, as `less -FRX` shows it.

use std::env;
use std::io::{self, Write as _};
use std::process::{Command, Stdio};

/// What shows a long page where the person names nothing else.
const PAGER: &str = "less";
/// Ends by itself where all fits, shows colour, leaves the page on the screen.
const PAGER_OPTIONS: &str = "-FRX";

/// Shows a text in the person's pager, and waits until it is read.
///
/// # Errors
/// When there is no pager; nothing was shown then.
pub(super) fn show(text: &[u8]) -> io::Result<()> {
    let named = env::var("PAGER").unwrap_or_default();
    let mut words = named.split_whitespace();
    let mut command = match words.next() {
        Some(program) => {
            let mut command = Command::new(program);
            command.args(words);
            command
        }
        None => {
            let mut command = Command::new(PAGER);
            command.arg(PAGER_OPTIONS);
            command
        }
    };
    if env::var_os("LESS").is_none() {
        command.env("LESS", PAGER_OPTIONS.trim_start_matches('-'));
    }
    let mut reading = command.stdin(Stdio::piped()).spawn()?;
    if let Some(mut page) = reading.stdin.take() {
        // Whoever leaves the pager early has seen enough.
        let _ = page.write_all(text);
    }
    // How the pager ended says nothing of what was shown.
    let _ = reading.wait();
    Ok(())
}
