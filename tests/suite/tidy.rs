//! The shape of the code: who may use whom, what the model may depend on, files that say what they
//! are, tests that are in the suite.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::python::root;

/// Every Rust file below a folder, generated and built ones left out.
pub(crate) fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if path.is_dir() && name != "target" && !name.starts_with('.') {
            found.extend(rust_files(&path));
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
    found.sort();
    found
}

fn shown(path: &Path) -> String {
    path.strip_prefix(root()).unwrap().display().to_string()
}

#[test]
fn every_file_opens_by_saying_what_it_is() {
    let silent: Vec<String> = rust_files(&root())
        .iter()
        .filter(|path| !fs::read_to_string(path).unwrap().starts_with("//! "))
        .map(|path| shown(path))
        .collect();
    assert_eq!(silent, [""; 0], "these do not open with a sentence");
}

/// Lines of the code itself: `use` lines and paths outside comments and tests.
fn code(path: &Path) -> String {
    let text = fs::read_to_string(path).unwrap();
    let without_tests = text.split("#[cfg(test)]").next().unwrap_or_default();
    let lines = without_tests
        .lines()
        .filter(|line| !line.trim_start().starts_with("//"));
    lines.collect::<Vec<_>>().join("\n")
}

#[test]
fn nobody_reaches_where_he_must_not() {
    let server = root().join("server");
    let rules: [(&str, &[&str]); 8] = [
        (
            "journal",
            &[
                "crate::shelf",
                "crate::store",
                "crate::desk",
                "crate::edge",
                "tonic",
                "sled",
                "fettlebook_contract",
            ],
        ),
        (
            "store",
            &[
                "crate::shelf",
                "crate::access",
                "crate::desk",
                "crate::keep",
                "crate::edge",
                "tonic",
                "sled",
                "fettlebook_contract",
            ],
        ),
        (
            "shelf",
            &["crate::desk", "crate::edge", "tonic", "fettlebook_contract"],
        ),
        (
            "meters",
            &[
                "crate::journal",
                "crate::shelf",
                "crate::desk",
                "crate::edge",
                "tonic",
                "fettlebook_",
            ],
        ),
        ("desk", &["crate::edge", "tonic", "fettlebook_contract"]),
        ("keep", &["crate::edge", "tonic", "fettlebook_contract"]),
        (
            "access",
            &[
                "crate::journal",
                "crate::shelf",
                "crate::desk",
                "crate::edge",
                "tonic",
                "sled",
                "fettlebook_contract::v1",
                "fettlebook_contract::call",
            ],
        ),
        ("edge", &["crate::journal", "crate::shelf", "sled::"]),
    ];
    for (room, barred) in rules {
        let mut files = rust_files(&server.join(room));
        files.push(server.join(format!("{room}.rs")));
        assert!(
            files.len() > 1,
            "server/{room} has moved; move its rule too"
        );
        for path in files.iter().filter(|path| path.is_file()) {
            let text = code(path);
            for word in barred {
                assert!(!text.contains(word), "{} uses {word}", shown(path));
            }
        }
    }
}

/// A copy on a device is a folder whatever the store of the book is.
#[test]
fn the_desk_comes_to_a_book_by_way_of_its_store_alone() {
    let desk = root().join("server/desk");
    let of_copies = ["copy.rs", "open/copy.rs"].map(|file| desk.join(file));
    for path in rust_files(&desk) {
        let is_test = path.starts_with(desk.join("tests")) || path.ends_with("desk/tests.rs");
        if is_test || of_copies.contains(&path) {
            continue;
        }
        let text = code(&path);
        for word in [
            "FileJournal",
            "FileReader",
            "FileProof",
            "RealDisk",
            "FolderStore",
            "std::fs",
        ] {
            assert!(!text.contains(word), "{} uses {word}", shown(&path));
        }
    }
}

/// Names of the packages that a package builds with, tests left out.
fn dependencies(package: &str) -> Vec<String> {
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".to_owned());
    let output = Command::new(cargo)
        .current_dir(root())
        .args([
            "tree",
            "--offline",
            "--edges",
            "normal",
            "--prefix",
            "none",
            "--format",
            "{p}",
            "-p",
            package,
        ])
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let text = String::from_utf8(output.stdout).unwrap();
    text.lines()
        .filter_map(|line| line.split_whitespace().next())
        .map(str::to_owned)
        .collect()
}

#[test]
fn the_model_depends_on_no_runtime_transport_or_store() {
    for package in ["fettlebook-model", "fettlebook-quantity"] {
        let used = dependencies(package);
        assert!(used.contains(&package.to_owned()));
        for barred in ["tokio", "tonic", "prost", "sled", "rand", "hyper"] {
            assert!(
                !used.iter().any(|name| name == barred),
                "{package} depends on {barred}"
            );
        }
    }
}

#[test]
fn the_client_depends_on_nothing_of_the_inside() {
    let used = dependencies("fettlebook-client");
    for barred in ["fettlebook-server", "fettlebook-model", "sled"] {
        assert!(
            !used.iter().any(|name| name == barred),
            "the client depends on {barred}"
        );
    }
}

#[test]
fn the_page_depends_on_the_contract_and_the_quantities_alone() {
    let used = dependencies("fettlebook-page");
    let ours = used.iter().filter(|name| name.starts_with("fettlebook"));
    let ours: std::collections::BTreeSet<&str> = ours.map(String::as_str).collect();
    let may: [&str; 3] = [
        "fettlebook-contract",
        "fettlebook-page",
        "fettlebook-quantity",
    ];
    assert_eq!(ours, may.into());
    assert!(!used.iter().any(|name| name == "sled"));
}

#[test]
fn every_test_file_is_in_the_suite() {
    let suite = root().join("tests/suite");
    let main = fs::read_to_string(suite.join("main.rs")).unwrap();
    for path in rust_files(&suite) {
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        assert!(
            name == "main" || main.contains(&format!("mod {name};")),
            "{name} is in no suite"
        );
    }
}

/// The customer's fixed top level; dot-files, Cargo.lock and what a build makes beside.
#[test]
fn the_top_level_is_what_was_agreed() {
    let output = Command::new("git")
        .current_dir(root())
        .args(["ls-files"])
        .output();
    let Ok(output) = output
        .as_ref()
        .map(|out| String::from_utf8_lossy(&out.stdout).into_owned())
    else {
        return;
    };
    let agreed = [
        "Cargo.toml",
        "Cargo.lock",
        "README.md",
        "DEVELOPERS.md",
        "LICENSE",
        "build.rs",
        "proto",
        "server",
        "client",
        "tests",
        "demo-stock",
    ];
    for line in output.lines() {
        let top = line.split('/').next().unwrap_or_default();
        assert!(
            top.starts_with('.') || agreed.contains(&top),
            "{top} does not belong at the top"
        );
    }
}

/// No word that promises what nobody can: the tool defers to labels, data sheets and local rules.
#[test]
fn nothing_printed_calls_anything_safe() {
    for folder in ["server", "client"] {
        for path in rust_files(&root().join(folder)) {
            // Tests look for the word, so they have it in them.
            if shown(&path).contains("tests") {
                continue;
            }
            let text = code(&path).to_lowercase();
            let quoted = text.split('"').skip(1).step_by(2);
            for literal in quoted {
                let words = literal.split(|c: char| !c.is_alphanumeric());
                assert!(
                    !words.into_iter().any(|word| word == "safe"),
                    "{}: {literal}",
                    shown(&path)
                );
            }
        }
    }
    let sheets = fs::read_dir(root().join("server/page/html")).unwrap();
    for path in sheets.map(|sheet| sheet.unwrap().path()) {
        let text = fs::read_to_string(&path).unwrap().to_lowercase();
        let mut words = text.split(|letter: char| !letter.is_alphanumeric());
        assert!(!words.any(|word| word == "safe"), "{}", shown(&path));
    }
}
