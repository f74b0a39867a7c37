//! The README stays true: its two commands are the ones that work, and its promises have the tests they
//! name.

use std::fs;

use crate::python::root;
use crate::tidy::rust_files;

/// The lines of the README's shell blocks, prompts left out.
fn commands() -> Vec<String> {
    let text = fs::read_to_string(root().join("README.md")).unwrap();
    let mut inside = false;
    let mut found = Vec::new();
    for line in text.lines() {
        if line.starts_with("```") {
            inside = !inside && line == "```sh";
        } else if inside && !line.is_empty() {
            found.push(line.trim_start_matches("$ ").to_owned());
        }
    }
    found
}

#[test]
fn the_first_command_runs_the_demo_and_the_second_the_tests() {
    let commands = commands();
    assert_eq!(commands[0], "cargo run --release --bin fettle -- demo");
    assert_eq!(commands[1], "cargo test --workspace");
    let ci = fs::read_to_string(root().join(".ci/run")).unwrap();
    assert!(
        ci.contains(&commands[1]),
        ".ci/run does not run the README's test command"
    );
}

/// The names in the promises' table: words of a test's name, in backticks.
fn promised_tests() -> Vec<String> {
    let text = fs::read_to_string(root().join("README.md")).unwrap();
    let promises = text.split("## What it promises").nth(1).unwrap();
    let rows = promises.lines().filter(|line| line.starts_with("| "));
    let held_by = rows.filter_map(|row| row.split(" | ").nth(1));
    let quoted = held_by.flat_map(|cell| cell.split('`').skip(1).step_by(2).map(str::to_owned));
    quoted
        .filter(|name| name.contains('_') && !name.ends_with('…'))
        .collect()
}

#[test]
fn every_promise_names_tests_that_there_are() {
    let names = promised_tests();
    assert!(names.len() > 12, "{names:?}");
    let code: String = ["tests", "server", "client"]
        .iter()
        .flat_map(|folder| rust_files(&root().join(folder)))
        .map(|path| fs::read_to_string(path).unwrap())
        .collect();
    for name in names {
        assert!(
            code.contains(&format!("fn {name}(")),
            "no test is called {name}"
        );
    }
}
