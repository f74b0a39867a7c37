//! The folder that is to be a shop's: new, empty or one of a shop already.
//!
//! It serves pairing. Only what was made here is its owner's alone from the start; a folder that holds
//! other things is refused, and what was made goes again when pairing fails.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use crate::fault::Fault;
use crate::shop::folder;

/// A folder that can be written to, until pairing is done.
pub(crate) struct Place {
    /// Folders that were made for it, the inmost first.
    made: Vec<PathBuf>,
}

impl Place {
    /// Sees that a folder can be a shop's, and makes it where there is none.
    ///
    /// # Errors
    /// When it holds other things, or what the system says; nothing was changed then.
    pub(crate) fn prepare(folder: &Path) -> Result<Self, Fault> {
        let failed = |error| Fault::file(&folder.display().to_string(), &error);
        if let Some(other) = other_thing(folder).map_err(failed)? {
            return Err(not_ours(folder, &other));
        }
        let made = make(folder).map_err(failed)?;
        let place = Self { made };
        let written = tempfile::NamedTempFile::new_in(folder);
        written
            .and_then(|mut file| file.write_all(b"{}"))
            .map_err(failed)?;
        Ok(place)
    }

    /// Leaves the folder as it is from now on.
    pub(crate) fn keep(mut self) {
        self.made.clear();
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        for folder in &self.made {
            // One that holds something by now stays.
            let _ = fs::remove_dir(folder);
        }
    }
}

/// Makes a folder for its owner alone, and what is missing above it; the mode of one that is there
/// stays as it is. Gives what was made, the inmost first.
///
/// # Errors
/// What the system says.
pub(crate) fn make(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let above = folder.ancestors();
    let missing = above.take_while(|path| !path.as_os_str().is_empty() && !path.exists());
    let missing: Vec<PathBuf> = missing.map(Path::to_owned).collect();
    let mut builder = fs::DirBuilder::new();
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.recursive(true).create(folder)?;
    Ok(missing)
}

/// Whether others may look into a folder.
#[cfg(unix)]
pub(crate) fn is_open_to_others(folder: &Path) -> bool {
    use std::os::unix::fs::PermissionsExt as _;
    fs::metadata(folder).is_ok_and(|found| found.permissions().mode() & 0o077 != 0)
}

/// Whether others may look into a folder.
#[cfg(not(unix))]
pub(crate) fn is_open_to_others(_: &Path) -> bool {
    false
}

/// The first thing by its name in a folder that no shop put there.
fn other_thing(folder: &Path) -> io::Result<Option<String>> {
    if folder::is_paired(folder) {
        return Ok(None);
    }
    let held = match fs::read_dir(folder) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        held => held?,
    };
    let mut others = Vec::new();
    for entry in held {
        let name = entry?.file_name().to_string_lossy().into_owned();
        let is_shops = match name.as_str() {
            "copy" => is_copy(&folder::copy(folder)),
            // What is still being written has a name that tempfile gives.
            "fettled.log" => true,
            _ => name == "outbox" || name.starts_with("outbox.") || name.starts_with(".tmp"),
        };
        if !is_shops {
            others.push(name);
        }
    }
    Ok(others.into_iter().min())
}

/// Whether a folder is a copy of a book, or empty.
fn is_copy(folder: &Path) -> bool {
    let is_empty = || {
        folder
            .read_dir()
            .is_ok_and(|mut held| held.next().is_none())
    };
    folder.join("copy.json").is_file() || is_empty()
}

fn not_ours(folder: &Path, other: &str) -> Fault {
    let mut fault = Fault::usage(
        "--shop",
        format!(
            "{} holds other things, such as {other}, so it is not made the folder of a shop.",
            folder.display()
        ),
    );
    fault.todo = "Name a folder that is new or empty with --shop DIR, or leave --shop and \
                  FETTLE_SHOP out."
        .to_owned();
    fault
}
