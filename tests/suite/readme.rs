//! The README stays true: its two commands are the ones that work.

use std::fs;

use crate::python::root;

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
