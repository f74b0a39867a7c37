//! The README stays true: its two commands are the ones that work, and its promises have the tests they
//! name.

use std::fs;
#[cfg(unix)]
use std::process::Command;

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

/// The commands of the README's console blocks as they stand, in order.
#[cfg(unix)]
fn walk() -> Vec<String> {
    let text = fs::read_to_string(root().join("README.md")).unwrap();
    let mut inside = false;
    let mut found = Vec::new();
    for line in text.lines() {
        if line.starts_with("```") {
            inside = !inside && line == "```console";
        } else if inside && let Some(command) = line.strip_prefix("$ ") {
            found.push(command.to_owned());
        }
    }
    found
}

/// A stranger types the README: every command of its console blocks, literally, one after the other, from
/// nothing in a fresh home. A check may say stop, which is exit code 3.
#[cfg(unix)]
#[test]
fn every_command_of_the_walk_works_as_it_stands_in_a_fresh_home() {
    let home = tempfile::tempdir().unwrap();
    let commands = walk();
    assert!(commands.len() > 25, "{commands:#?}");
    let step = |command: &String| {
        format!(
            "{command}\ncode=$?\nif [ $code -ne 0 ] && [ $code -ne 3 ]; then\n  echo \"ended with $code: \"{} >&2\n  \
             exit 1\nfi",
            quoted(command)
        )
    };
    let script: Vec<String> = commands.iter().map(step).collect();
    let binaries = std::path::Path::new(env!("CARGO_BIN_EXE_fettle"));
    let binaries = binaries.parent().unwrap().display();
    let path = std::env::var("PATH").unwrap_or_default();
    let output = Command::new("sh")
        .arg("-c")
        .arg(script.join("\n"))
        .current_dir(home.path())
        .env_clear()
        .env("PATH", format!("{binaries}:{path}"))
        .env("HOME", home.path())
        .env("TZ", "UTC")
        .env("LC_ALL", "C.UTF-8")
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "{}\n{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    );
}

/// A text as one word of a shell.
#[cfg(unix)]
fn quoted(text: &str) -> String {
    format!("'{}'", text.replace('\'', "'\\''"))
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
