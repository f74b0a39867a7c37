//! Files that are nobody else's business: whatever this program makes is for its owner alone, whatever
//! the umask of whoever started it, but for what a person has written to hand out.

use std::fs::File;
use std::io;

#[cfg(unix)]
use rustix::fs::Mode;

/// The umask that the program was started with.
#[cfg(unix)]
static STARTED_WITH: std::sync::OnceLock<Mode> = std::sync::OnceLock::new();

/// From now on every file and folder is made for its owner alone.
#[cfg(unix)]
pub(crate) fn begin() {
    STARTED_WITH.get_or_init(|| rustix::process::umask(Mode::RWXG | Mode::RWXO));
}

/// Files have no modes here.
#[cfg(not(unix))]
pub(crate) fn begin() {}

/// Gives a file that was made just now to whom the person's own umask gives what they write.
///
/// # Errors
/// What the system says.
#[cfg(unix)]
pub(crate) fn hand_out(file: &File) -> io::Result<()> {
    match STARTED_WITH.get() {
        Some(mask) => Ok(rustix::fs::fchmod(file, Mode::from(0o666) - *mask)?),
        None => Ok(()),
    }
}

/// Files have no modes here.
///
/// # Errors
/// None.
#[cfg(not(unix))]
pub(crate) fn hand_out(_: &File) -> io::Result<()> {
    Ok(())
}

/// Has everything made in the meantime be as the person's own umask says. No book may be open.
#[cfg(unix)]
pub(crate) fn handing_out<T>(make: impl FnOnce() -> T) -> T {
    let Some(mask) = STARTED_WITH.get() else {
        return make();
    };
    let private = rustix::process::umask(*mask);
    let made = make();
    rustix::process::umask(private);
    made
}

/// Files have no modes here.
#[cfg(not(unix))]
pub(crate) fn handing_out<T>(make: impl FnOnce() -> T) -> T {
    make()
}
