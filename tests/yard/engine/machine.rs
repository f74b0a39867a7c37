//! What the machine has for an engine: its programs, and somebody to run them as.

use std::fs;
use std::os::unix::fs::PermissionsExt as _;
use std::os::unix::process::CommandExt as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// Users to run it as for the superuser, whom it refuses; the first that exists.
const USERS: [&str; 2] = ["postgres", "nobody"];

pub(super) fn as_user(user: Option<(u32, u32)>, program: &Path) -> Command {
    let mut command = Command::new(program);
    command
        .current_dir("/")
        .env("LC_ALL", "C")
        .stdin(Stdio::null());
    if let Some((id, group)) = user {
        command.uid(id).gid(group);
    }
    command
}

/// Whether this runs as the superuser. Source: proc_pid_status(5), the effective id is the second.
pub(super) fn is_superuser() -> bool {
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let ids = status.lines().find_map(|line| line.strip_prefix("Uid:"));
    ids.and_then(|ids| ids.split_whitespace().nth(1)) == Some("0")
}

pub(super) fn unprivileged() -> Option<(u32, u32)> {
    let users = fs::read_to_string("/etc/passwd").ok()?;
    let find = |name: &&str| {
        users.lines().find_map(|line| {
            let fields: Vec<&str> = line.split(':').collect();
            let [found, _, id, group, ..] = fields.as_slice() else {
                return None;
            };
            (found == name).then_some((id.parse().ok()?, group.parse().ok()?))
        })
    };
    USERS.iter().find_map(find)
}

/// The folder with its programs: on the path, else the newest where Debian puts them.
pub(super) fn programs() -> Option<PathBuf> {
    let whole = |folder: &PathBuf| {
        let mut programs = ["initdb", "postgres"].iter();
        programs.all(|program| folder.join(program).is_file())
    };
    let path = std::env::var_os("PATH").unwrap_or_default();
    if let Some(found) = std::env::split_paths(&path).find(whole) {
        return Some(found);
    }
    let versions = fs::read_dir("/usr/lib/postgresql").ok()?.flatten();
    let numbered = versions.filter_map(|entry| {
        let version: u32 = entry.file_name().to_str()?.parse().ok()?;
        Some((version, entry.path().join("bin")))
    });
    let newest = numbered.filter(|(_, folder)| whole(folder)).max()?;
    // What runs it may be another user.
    fs::metadata(&newest.1)
        .ok()
        .filter(|found| found.permissions().mode() & 0o005 == 0o005)?;
    Some(newest.1)
}
