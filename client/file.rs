//! Files and folders that a person named: nothing is written over unless told to.
//!
//! What is written into a folder is there after a loss of power once its names are synced too.

use std::fs;
use std::io::{self, Write as _};
use std::path::Path;

use crate::fault::Fault;
use crate::private;

/// Writes a new file for an option; with `force` over the one that is there.
///
/// # Errors
/// When it is there already or cannot be written.
pub(crate) fn write(option: &str, file: &Path, force: bool, text: &str) -> Result<(), Fault> {
    put(file, force, text).map_err(|error| {
        let path = file.display().to_string();
        if error.kind() == io::ErrorKind::AlreadyExists {
            let mut fault = Fault::usage(option, format!("{path} is there already."));
            fault.todo = "Name another file, or overwrite this one with --force.".to_owned();
            return fault;
        }
        Fault::file(&path, &error)
    })
}

fn put(file: &Path, force: bool, text: &str) -> io::Result<()> {
    let is_new = !file.exists();
    let mut options = fs::OpenOptions::new();
    if force {
        options.write(true).create(true).truncate(true);
    } else {
        options.write(true).create_new(true);
    }
    let mut file = options.open(file)?;
    if is_new {
        private::hand_out(&file)?;
    }
    file.write_all(text.as_bytes())?;
    file.sync_data()
}

/// Makes a folder, and those above it that are missing; the names of all of them survive loss of power.
///
/// # Errors
/// What the system says.
pub(crate) fn make_folder(folder: &Path) -> io::Result<()> {
    let is_missing = |folder: &&Path| !folder.as_os_str().is_empty() && !folder.exists();
    let missing = folder.ancestors().take_while(is_missing).count();
    fs::create_dir_all(folder)?;
    for made in folder.ancestors().take(missing) {
        let above = made.parent().unwrap_or(made);
        let is_here = above.as_os_str().is_empty();
        sync_folder(if is_here { Path::new(".") } else { above })?;
    }
    Ok(())
}

/// Has the names in a folder survive loss of power.
///
/// # Errors
/// What the system says.
pub(crate) fn sync_folder(folder: &Path) -> io::Result<()> {
    #[cfg(test)]
    synced::note(folder);
    if cfg!(unix) {
        fs::File::open(folder)?.sync_all()
    } else {
        Ok(())
    }
}

/// Which folders this thread synced, for tests: what a loss of power takes cannot be seen without one.
#[cfg(test)]
pub(crate) mod synced {
    use std::cell::RefCell;
    use std::path::{Path, PathBuf};

    thread_local! {
        static FOLDERS: RefCell<Vec<PathBuf>> = const { RefCell::new(Vec::new()) };
    }

    pub(super) fn note(folder: &Path) {
        FOLDERS.with_borrow_mut(|folders| folders.push(folder.to_owned()));
    }

    /// The folders that were synced since this was last asked.
    pub(crate) fn take() -> Vec<PathBuf> {
        FOLDERS.take()
    }
}

/// Whether a folder holds anything; asking never makes one.
pub(crate) fn holds_something(folder: &Path) -> bool {
    folder
        .read_dir()
        .is_ok_and(|mut entries| entries.next().is_some())
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::write;

    #[test]
    fn a_file_that_is_there_is_overwritten_only_by_force() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("lives.svg");
        write("--svg", &file, false, "a long first text").unwrap();
        let refused = write("--svg", &file, false, "second").unwrap_err();
        assert_eq!((&*refused.field, refused.exit.code()), ("--svg", 2));
        assert_eq!(fs::read_to_string(&file).unwrap(), "a long first text");
        write("--svg", &file, true, "third").unwrap();
        assert_eq!(fs::read_to_string(&file).unwrap(), "third");
    }
}
