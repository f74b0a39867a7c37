//! Links in the access folder, as the service's user could put them there before the system's
//! administrator runs `fettled pair`: what they lead to stays as it is, and the link is told.

use std::fs;
use std::os::unix::fs::{MetadataExt as _, PermissionsExt as _, symlink};
use std::path::{Path, PathBuf};

use super::*;

/// Somebody else's file outside, and a folder for access.
struct Yard {
    root: tempfile::TempDir,
    folder: PathBuf,
    outside: PathBuf,
}

impl Yard {
    fn new() -> Self {
        let root = tempfile::tempdir().unwrap();
        let (folder, outside) = (root.path().join("access"), root.path().join("outside"));
        cabinet(&folder).open().unwrap();
        fs::write(&outside, "\"theirs\"").unwrap();
        fs::set_permissions(&outside, fs::Permissions::from_mode(0o644)).unwrap();
        Self {
            root,
            folder,
            outside,
        }
    }

    fn assert_untouched(&self) {
        assert_eq!(fs::read_to_string(&self.outside).unwrap(), "\"theirs\"");
        let held = fs::metadata(&self.outside).unwrap();
        assert_eq!(held.permissions().mode() & 0o777, 0o644);
    }
}

fn cabinet(folder: &Path) -> FolderCabinet {
    FolderCabinet {
        folder: folder.to_owned(),
    }
}

fn assert_astray<T: std::fmt::Debug>(done: Result<T, CabinetError>, path: &Path) {
    let path = path.display().to_string();
    assert_eq!(done.unwrap_err(), CabinetError::Astray { path });
}

#[test]
fn a_folder_that_is_a_link_is_refused_and_what_it_leads_to_stays() {
    let yard = Yard::new();
    let (link, there) = (
        yard.root.path().join("link"),
        yard.root.path().join("there"),
    );
    fs::create_dir(&there).unwrap();
    fs::set_permissions(&there, fs::Permissions::from_mode(0o755)).unwrap();
    fs::write(there.join("codes.json"), "1").unwrap();
    symlink(&there, &link).unwrap();
    assert_astray(cabinet(&link).open(), &link);
    assert_astray(cabinet(&link).write(Paper::Codes, b"2"), &link);
    assert_astray(cabinet(&link).read(Paper::Codes), &link);
    assert_astray(cabinet(&link).turn().map(drop), &link);
    let mode = fs::metadata(&there).unwrap().permissions().mode();
    assert_eq!(mode & 0o777, 0o755);
    assert_eq!(fs::read_dir(&there).unwrap().count(), 1);
    assert_eq!(fs::read_to_string(there.join("codes.json")).unwrap(), "1");
    let nowhere = yard.root.path().join("nowhere");
    symlink(yard.root.path().join("not-there"), &nowhere).unwrap();
    assert_astray(cabinet(&nowhere).open(), &nowhere);
    assert_astray(cabinet(&nowhere).read(Paper::Codes), &nowhere);
}

/// As systemd does with the folder of a service whose user is made up for it.
#[test]
fn a_book_that_is_reached_through_a_link_has_its_access_folder() {
    let yard = Yard::new();
    let by_link = yard.root.path().join("by-link");
    symlink(yard.root.path(), &by_link).unwrap();
    let folder = by_link.join("access");
    cabinet(&folder).open().unwrap();
    cabinet(&folder).write(Paper::Codes, b"ours").unwrap();
    let held = cabinet(&yard.folder).read(Paper::Codes).unwrap();
    assert_eq!(held.as_deref(), Some(b"ours".as_slice()));
}

#[test]
fn a_draft_that_is_a_link_goes_and_what_it_leads_to_stays() {
    let yard = Yard::new();
    let (draft, file) = (
        yard.folder.join("codes.json.new"),
        yard.folder.join("codes.json"),
    );
    for hard in [false, true] {
        if hard {
            fs::hard_link(&yard.outside, &draft).unwrap();
        } else {
            symlink(&yard.outside, &draft).unwrap();
        }
        cabinet(&yard.folder).write(Paper::Codes, b"ours").unwrap();
        yard.assert_untouched();
        let held = fs::symlink_metadata(&file).unwrap();
        assert!(held.is_file() && held.nlink() == 1);
        assert_eq!(held.permissions().mode() & 0o777, 0o600);
        assert_eq!(fs::read_to_string(&file).unwrap(), "ours");
    }
}

#[test]
fn a_draft_that_was_cut_off_is_no_part_of_the_next() {
    let yard = Yard::new();
    fs::write(yard.folder.join("codes.json.new"), "much longer than ours").unwrap();
    cabinet(&yard.folder).write(Paper::Codes, b"ours").unwrap();
    let held = cabinet(&yard.folder).read(Paper::Codes).unwrap();
    assert_eq!(held.as_deref(), Some(b"ours".as_slice()));
}

#[test]
fn a_lock_or_a_file_that_is_a_link_is_told_and_not_followed() {
    let yard = Yard::new();
    for name in ["access.lock", "codes.json"] {
        symlink(&yard.outside, yard.folder.join(name)).unwrap();
    }
    assert_astray(
        cabinet(&yard.folder).turn().map(drop),
        &yard.folder.join("access.lock"),
    );
    let file = yard.folder.join("codes.json");
    assert_astray(cabinet(&yard.folder).read(Paper::Codes), &file);
    let error = cabinet(&yard.folder)
        .read(Paper::Codes)
        .unwrap_err()
        .to_string();
    assert!(error.contains("codes.json is a link"), "{error}");
    cabinet(&yard.folder).write(Paper::Codes, b"ours").unwrap();
    yard.assert_untouched();
}

#[test]
fn a_lock_that_leads_nowhere_makes_nothing_there() {
    let yard = Yard::new();
    let there = yard.root.path().join("not-there");
    symlink(&there, yard.folder.join("access.lock")).unwrap();
    assert_astray(
        cabinet(&yard.folder).turn().map(drop),
        &yard.folder.join("access.lock"),
    );
    assert!(!there.exists());
}

/// A pipe would keep whoever opens it waiting for ever.
#[test]
fn a_folder_or_a_pipe_in_the_place_of_a_file_is_told_at_once() {
    let yard = Yard::new();
    fs::create_dir(yard.folder.join("codes.json")).unwrap();
    assert_astray(
        cabinet(&yard.folder).read(Paper::Codes),
        &yard.folder.join("codes.json"),
    );
    for name in ["devices.json", "access.lock"] {
        let mode = rustix::fs::Mode::RUSR | rustix::fs::Mode::WUSR;
        let path = yard.folder.join(name);
        rustix::fs::mknodat(rustix::fs::CWD, &path, rustix::fs::FileType::Fifo, mode, 0).unwrap();
    }
    let pipe = yard.folder.join("devices.json");
    assert_astray(cabinet(&yard.folder).read(Paper::Devices), &pipe);
    assert_astray(
        cabinet(&yard.folder).turn().map(drop),
        &yard.folder.join("access.lock"),
    );
}
