//! The folder of a shop on this device: what it was given when it was paired, its outbox, its copy.
//!
//! It serves every command in a shop. It holds the token, so it is its owner's alone: what others may
//! read or write is not used, and the token is shown nowhere.
//!
//! ```text
//! shop.json    addresses, pinned certificate, book, name, role, token
//! outbox/      deeds that wait, see the outbox; whose they are stands beside it
//! copy/        the book as it was when the shop was last reached
//! ```

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::fault::Fault;
use crate::file;
use crate::shop::target::{Address, Target};
use crate::shop::trust::Pin;
use crate::shop::wire::Heard;
use crate::shop::{code, place};

/// Format of the file.
const FORMAT: u32 = 1;
/// Name of the file.
const FILE: &str = "shop.json";

/// What a device holds of the shop it is paired with.
#[derive(Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Paired {
    format: u32,
    /// Name or address of the host, without brackets.
    pub(crate) host: String,
    /// Port.
    pub(crate) port: u16,
    /// Where else the shop is reached, as it last said, each as `HOST:PORT`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub(crate) addresses: Vec<String>,
    /// Where it was reached last, as `HOST:PORT`; empty where that was host and port above.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub(crate) reached: String,
    /// The certificate that everything the service shows is checked against, PEM.
    pub(crate) certificate: String,
    /// Its SHA-256, hex.
    pub(crate) fingerprint: String,
    /// Id of the book.
    pub(crate) book_id: String,
    /// Name of this device.
    pub(crate) device: String,
    /// What it may do, as the shop last said: the name of a role in the contract.
    pub(crate) role: String,
    /// The token.
    pub(crate) token: String,
    /// Whether the shop has shut this device out, as it last said.
    #[serde(default, skip_serializing_if = "is_false")]
    pub(crate) shut_out: bool,
    /// Whether the copy here is to go: it has what this device may not see any more.
    #[serde(default, skip_serializing_if = "is_false")]
    pub(crate) copy_goes: bool,
    /// Folder of the book, on the machine that has it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(crate) book: Option<PathBuf>,
    /// The place where it works, as the shop last said; empty where it did not.
    #[serde(default)]
    pub(crate) place: String,
    /// The letter of the tags that it gives itself, as the shop last said; empty where it has none.
    #[serde(default)]
    pub(crate) tag_letter: String,
    /// The role that the copy was made for; empty for the one above.
    #[serde(default)]
    pub(crate) copied_role: String,
}

impl Paired {
    /// What a device holds, in the format of today.
    pub(crate) fn new(host: String, port: u16) -> Self {
        Self {
            format: FORMAT,
            host,
            port,
            addresses: Vec::new(),
            reached: String::new(),
            certificate: String::new(),
            fingerprint: String::new(),
            book_id: String::new(),
            device: String::new(),
            role: String::new(),
            token: String::new(),
            shut_out: false,
            copy_goes: false,
            book: None,
            place: String::new(),
            tag_letter: String::new(),
            copied_role: String::new(),
        }
    }

    /// Takes in what the shop says that this device is there. Says whether that is news.
    pub(crate) fn heed(&mut self, heard: Heard) -> bool {
        let held = (&self.role, &self.place, &self.tag_letter);
        if (&heard.role, &heard.place, &heard.tag_letter) == held {
            return false;
        }
        // The copy is of what the earlier role saw, until it is made anew.
        if self.copied_role.is_empty() {
            self.copied_role.clone_from(&self.role);
        }
        Heard {
            role: self.role,
            place: self.place,
            tag_letter: self.tag_letter,
        } = heard;
        true
    }

    /// The role that the copy was made for.
    pub(crate) fn role_of_copy(&self) -> &str {
        if self.copied_role.is_empty() {
            &self.role
        } else {
            &self.copied_role
        }
    }

    /// Host and port as they are written together.
    pub(crate) fn address(&self) -> String {
        code::address(&self.host, self.port)
    }

    /// Where the shop is looked for: where it was reached last, where this device was told, and where else the
    /// shop says.
    pub(crate) fn places(&self) -> Vec<Address> {
        let own = Address {
            host: self.host.clone(),
            port: self.port,
        };
        let said = self.addresses.iter();
        let said: Vec<Address> = said.filter_map(|text| Address::read(text)).collect();
        let last = Address::read(&self.reached).filter(|last| said.contains(last));
        let mut places: Vec<Address> = Vec::new();
        for place in last.into_iter().chain([own]).chain(said) {
            if !places.contains(&place) {
                places.push(place);
            }
        }
        places
    }

    /// Where the shop is and what it has to show; nothing when the certificate kept here is damaged.
    pub(crate) fn target(&self) -> Option<Target> {
        Some(Target {
            addresses: self.places(),
            pin: Pin::of_pem(&self.certificate)?,
            book_id: Some(self.book_id.clone()),
        })
    }

    /// Takes in where the shop says that it is reached, and where it was reached just now. Says whether that is
    /// news.
    pub(crate) fn heed_places(&mut self, said: Vec<String>, reached: Option<&Address>) -> bool {
        let reached = reached.map(Address::to_string).unwrap_or_default();
        let reached = Some(reached).filter(|reached| *reached != self.address());
        let held = (&self.addresses, &self.reached);
        let reached = reached.unwrap_or_default();
        if held == (&said, &reached) {
            return false;
        }
        (self.addresses, self.reached) = (said, reached);
        true
    }
}

impl std::fmt::Debug for Paired {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} at {}", self.device, self.address())
    }
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde passes a reference"
)]
const fn is_false(word: &bool) -> bool {
    !*word
}

/// Where the outbox is.
pub(crate) fn outbox(folder: &Path) -> PathBuf {
    folder.join("outbox")
}

/// Where the copy of the book is.
pub(crate) fn copy(folder: &Path) -> PathBuf {
    folder.join("copy")
}

/// Whether this folder was paired with a shop.
pub(crate) fn is_paired(folder: &Path) -> bool {
    folder.join(FILE).exists()
}

/// The book that this folder was paired for, however little else can be used; for comparing only.
pub(crate) fn book_id(folder: &Path) -> Option<String> {
    let text = fs::read(folder.join(FILE)).ok()?;
    let held: serde_json::Value = serde_json::from_slice(&text).ok()?;
    held.get("book_id")?.as_str().map(str::to_owned)
}

/// What this device holds of the shop.
///
/// # Errors
/// When it is not paired, the file may be read or written by others, or it cannot be read.
pub(crate) fn read(folder: &Path) -> Result<Paired, Fault> {
    let path = folder.join(FILE);
    let shown = path.display().to_string();
    match fs::symlink_metadata(&path) {
        Ok(found) => check_owner(&shown, &found)?,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Err(not_paired(folder)),
        Err(error) => return Err(Fault::file(&shown, &error)),
    }
    let text = fs::read(&path).map_err(|error| Fault::file(&shown, &error))?;
    let unreadable = |what: String| {
        let mut fault = Fault::usage("--shop", format!("{shown} cannot be read: {what}."));
        fault.todo =
            "Pair this device again with 'fettle shop pair CODE --again'; what waits in the \
                      outbox stays."
                .to_owned();
        fault
    };
    let paired: Paired =
        serde_json::from_slice(&text).map_err(|error| unreadable(error.to_string()))?;
    if paired.format != FORMAT {
        let newer = format!(
            "it has format {}, and {FORMAT} is known here",
            paired.format
        );
        return Err(unreadable(newer));
    }
    Ok(paired)
}

/// Writes down what this device holds, whole or not at all; when it returns it survives loss of power.
///
/// # Errors
/// What the system says.
pub(crate) fn write(folder: &Path, paired: &Paired) -> io::Result<()> {
    place::make(folder)?;
    let mut text = serde_json::to_vec_pretty(paired).map_err(io::Error::other)?;
    text.push(b'\n');
    // A temporary file is its owner's alone from the start.
    let mut draft = tempfile::NamedTempFile::new_in(folder)?;
    draft.write_all(&text)?;
    draft.as_file().sync_all()?;
    draft.persist(folder.join(FILE))?;
    file::sync_folder(folder)
}

/// Takes the copy away, which has what this device may not see any more; then that it has to go is
/// forgotten.
///
/// # Errors
/// What the system says.
pub(crate) fn take_copy_away(folder: &Path, paired: &mut Paired) -> Result<(), Fault> {
    let failed = |error| Fault::file(&folder.display().to_string(), &error);
    match fs::remove_dir_all(copy(folder)) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(failed(error)),
        _ => {}
    }
    paired.copy_goes = false;
    let role = paired.role.clone();
    paired.copied_role = role;
    write(folder, paired).map_err(failed)
}

/// Forgets the shop; when it returns that survives loss of power.
///
/// # Errors
/// What the system says.
pub(crate) fn forget(folder: &Path) -> io::Result<()> {
    fs::remove_file(folder.join(FILE))?;
    file::sync_folder(folder)
}

/// Refuses a file that others may read or write, or that is somebody else's.
#[cfg(unix)]
fn check_owner(shown: &str, found: &fs::Metadata) -> Result<(), Fault> {
    use std::os::unix::fs::MetadataExt as _;
    let mode = found.mode() & 0o777;
    let what = if !found.is_file() {
        "is not a plain file".to_owned()
    } else if found.uid() != rustix::process::geteuid().as_raw() {
        "belongs to somebody else".to_owned()
    } else if mode & 0o077 != 0 {
        format!("holds a secret, and others may use it (mode {mode:o})")
    } else {
        return Ok(());
    };
    let mut fault = Fault::usage("--shop", format!("{shown} {what}, so it is not used."));
    fault.exit = crate::exit::Exit::NotAllowed;
    fault.todo = format!(
        "If nobody else has seen it, run: chmod 600 {shown}. Else have the device revoked and pair it \
         again."
    );
    Err(fault)
}

#[cfg(not(unix))]
fn check_owner(_: &str, _: &fs::Metadata) -> Result<(), Fault> {
    Ok(())
}

fn not_paired(folder: &Path) -> Fault {
    let mut fault = Fault::usage(
        "--shop",
        format!(
            "This device is not paired with a shop in {}.",
            folder.display()
        ),
    );
    fault.todo =
        "Ask whoever owns the shop for a code, then run 'fettle shop pair CODE'.".to_owned();
    fault
}
