//! The unit file of the service is one that systemd takes, and says what the service and its allocator understand.

use std::fs;
use std::process::Command;

use crate::python::root;

/// The units, each with the program that it starts; a timer starts a unit.
const UNITS: [(&str, &str); 3] = [
    ("fettled.service", env!("CARGO_BIN_EXE_fettled")),
    ("fettled-backup.service", env!("CARGO_BIN_EXE_fettle")),
    ("fettled-backup.timer", ""),
];

#[test]
fn systemd_takes_the_units() {
    let here = Command::new("systemd-analyze").arg("--version").output();
    if !here.is_ok_and(|output| output.status.success()) {
        eprintln!("skipped: systemd-analyze is not on this machine");
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let mut units = Vec::new();
    for (name, program) in UNITS {
        let text = fs::read_to_string(root().join("server").join(name)).unwrap();
        // Checked with the binary that was built, because it must exist.
        let starts = format!("ExecStart={program} ");
        let word = program.rsplit('/').next().unwrap_or_default();
        let text = text.replace(&format!("ExecStart={word} "), &starts);
        assert!(program.is_empty() || text.contains(&starts), "{name}");
        let unit = folder.path().join(name);
        fs::write(&unit, text).unwrap();
        units.push(unit);
    }
    let output = Command::new("systemd-analyze")
        .args(["verify", "--man=no"])
        .args(&units)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    let ours: Vec<&str> = said
        .lines()
        .filter(|line| line.contains("fettled"))
        .collect();
    assert!(output.status.success() && ours.is_empty(), "{said}");
}

/// Whatever somebody finds to fill the memory with, the machine that it shares goes on. Source:
/// systemd.resource-control(5), `MemoryMax=`.
#[test]
fn the_unit_file_bounds_the_memory() {
    let text = fs::read_to_string(root().join("server/fettled.service")).unwrap();
    let (_, service) = text.split_once("[Service]").unwrap();
    let bound = service
        .lines()
        .find_map(|line| line.strip_prefix("MemoryMax="));
    let gibibytes = bound.and_then(|bound| bound.strip_suffix('G'));
    let gibibytes: u32 = gibibytes.unwrap().parse().unwrap();
    assert!((1..=2).contains(&gibibytes), "{bound:?}");
}

/// The service reads its own command line: every option that the unit gives is one it has.
#[test]
fn the_service_takes_the_command_line_of_the_unit_file() {
    let text = fs::read_to_string(root().join("server/fettled.service")).unwrap();
    let line = text
        .lines()
        .find_map(|line| line.strip_prefix("ExecStart="))
        .unwrap();
    let help = Command::new(env!("CARGO_BIN_EXE_fettled"))
        .arg("--help")
        .output()
        .unwrap();
    let help = String::from_utf8(help.stdout).unwrap();
    let mut options = line
        .split_whitespace()
        .filter(|word| word.starts_with("--"));
    assert!(
        options.all(|option| help.contains(&format!("{option} <"))),
        "{line}\n{help}"
    );
}

/// What the unit file and the container tell the allocator is what it knows, under these names and in these units: by
/// what it says of itself.
#[test]
fn the_allocator_takes_what_the_unit_file_and_the_container_tell_it() {
    for (file, before) in [
        ("fettled.service", "Environment="),
        ("Containerfile", "ENV "),
    ] {
        let text = fs::read_to_string(root().join("server").join(file)).unwrap();
        let told = text
            .lines()
            .filter_map(|line| line.strip_prefix(before))
            .flat_map(str::split_whitespace)
            .filter_map(|told| told.split_once('='))
            .filter(|(name, _)| name.starts_with("MIMALLOC_"));
        let output = Command::new(env!("CARGO_BIN_EXE_fettled"))
            .arg("--version")
            .envs(told)
            .env("MIMALLOC_VERBOSE", "1")
            .output()
            .unwrap();
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(output.status.success(), "{file}: {said}");
        for taken in ["'arena_max_object_size': 1024 KiB", "'allow_thp': 0"] {
            assert!(said.contains(taken), "{file}: {said}");
        }
    }
}
