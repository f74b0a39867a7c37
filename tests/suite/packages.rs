//! What a package is made of: licences that may be, notices of all that is built in, files that there are.

use std::collections::BTreeSet;
use std::fs;
use std::io::Write as _;
use std::process::{Command, Stdio};

use crate::python::root;

fn cargo(words: &[&str]) -> String {
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".to_owned());
    let output = Command::new(cargo)
        .current_dir(root())
        .args(words)
        .output()
        .unwrap();
    let talk = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success(), "{words:?}: {talk}");
    String::from_utf8(output.stdout).unwrap()
}

/// Each crate that the programs are built of with these features, with its licence; ours left out.
fn crates(features: &str) -> BTreeSet<(String, String)> {
    let tree = ["tree", "--offline", "--edges", "normal", "--prefix", "none"];
    let of_ours = [
        "--format",
        "{p}\t{l}",
        "-p",
        "fettlebook",
        "--features",
        features,
    ];
    let said = cargo(&[&tree[..], &of_ours].concat());
    let lines = said.lines().filter_map(|line| line.split_once('\t'));
    let named = lines.filter_map(|(package, licence)| {
        let mut words = package.split_whitespace();
        let (name, version) = (words.next()?, words.next()?.trim_start_matches('v'));
        let is_ours = name.starts_with("fettlebook");
        let licence = licence.trim_end_matches(" (*)");
        (!is_ours).then(|| (format!("{name} {version}"), licence.to_owned()))
    });
    named.collect()
}

/// The licences that may be, as `.deny.toml` has them.
fn allowed() -> Vec<String> {
    let text = fs::read_to_string(root().join(".deny.toml")).unwrap();
    let (_, list) = text.split_once("allow = [").unwrap();
    let (list, _) = list.split_once(']').unwrap();
    let lines = list
        .lines()
        .map(str::trim)
        .filter(|line| line.starts_with('"'));
    lines
        .map(|line| line.trim_end_matches(',').trim_matches('"').to_owned())
        .collect()
}

/// Whether an expression can be met with these licences. Source: SPDX specification, annex D; a slash is the older way
/// to write OR, and a plus says that later versions may be taken too.
fn is_met(expression: &str, allowed: &[String]) -> bool {
    let plain = expression.replace(['(', ')'], "").replace('/', " OR ");
    plain.split(" AND ").all(|part| {
        part.split(" OR ").any(|one| {
            let one = one.trim().trim_end_matches('+');
            allowed.iter().any(|known| known == one)
        })
    })
}

#[test]
fn every_crate_has_a_licence_that_may_be() {
    let allowed = allowed();
    assert!(!is_met("GPL-3.0-only", &allowed) && !is_met("MIT AND GPL-3.0-only", &allowed));
    assert!(is_met("GPL-3.0-only OR MIT", &allowed));
    let crates = crates("postgres");
    assert!(crates.len() > 200, "{}", crates.len());
    let barred: Vec<_> = crates
        .iter()
        .filter(|(_, licence)| !is_met(licence, &allowed))
        .collect();
    assert!(barred.is_empty(), "{barred:?}");
}

/// The notices that go into a package are made from what is built, so that none is missing.
#[test]
fn the_notices_name_every_crate_and_bring_the_texts() {
    let python = Command::new("python3").arg("--version").output();
    if !python.is_ok_and(|output| output.status.success()) {
        eprintln!("skipped: python3 is not on this machine");
        return;
    }
    let metadata = cargo(&[
        "metadata",
        "--offline",
        "--locked",
        "--format-version",
        "1",
        "--features",
        "postgres",
    ]);
    let mut child = Command::new("python3")
        .arg(root().join("server/package/notices.py"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut input = child.stdin.take().unwrap();
    let giving = std::thread::spawn(move || input.write_all(metadata.as_bytes()).unwrap());
    let output = child.wait_with_output().unwrap();
    giving.join().unwrap();
    assert!(output.status.success());
    let notices = String::from_utf8(output.stdout).unwrap();
    for (name, licence) in crates("postgres") {
        assert!(
            notices.contains(&format!("\n{name}: {licence}\n")),
            "{name} {licence}"
        );
    }
    for text in [
        "Mozilla Public License Version 2.0",
        "Apache License",
        "Permission is hereby granted",
    ] {
        assert!(notices.contains(text), "{text}");
    }
}

/// What the package lists is in the tree, or is made by `prepare` or by the build.
#[test]
fn the_files_of_the_package_are_there() {
    let text = fs::read_to_string(root().join("Cargo.toml")).unwrap();
    let (_, list) = text.split_once("assets = [").unwrap();
    let (list, _) = list.split_once("\n]").unwrap();
    let sources: Vec<&str> = list.split('"').skip(1).step_by(6).collect();
    assert!(sources.len() > 10, "{sources:?}");
    let prepare = fs::read_to_string(root().join("server/package/prepare")).unwrap();
    for source in sources {
        let made = source.strip_prefix("target/package/");
        let is_made = made.is_some_and(|made| {
            let word = made.split('/').next().unwrap();
            prepare.contains(word)
        });
        let is_built = source.starts_with("target/dist/");
        assert!(
            is_built || is_made || root().join(source).is_file(),
            "{source}"
        );
    }
    for script in ["postinst", "postrm"] {
        assert!(
            root().join("server/package").join(script).is_file(),
            "{script}"
        );
    }
}
