//! The metrics and the example of alert rules, by the checker that comes with a common collector of metrics.
//!
//! It is `promtool` of Debian's package `prometheus`; without it the tests say that they are skipped, and with
//! `FETTLEBOOK_REQUIRE_PROMTOOL=1` a skip fails.

use std::io::Write as _;
use std::process::{Command, Stdio};

use crate::binaries::{Fettled, Shop, done, kept_demo};
use crate::metrics::body;
use crate::python::root;

/// Whether the checker is on this machine.
pub(crate) fn is_here() -> bool {
    let version = Command::new("promtool").arg("--version").output();
    let is_here = version.is_ok_and(|output| output.status.success());
    if !is_here {
        let required = std::env::var("FETTLEBOOK_REQUIRE_PROMTOOL").is_ok_and(|value| value == "1");
        assert!(
            !required,
            "required, yet skipped: promtool is not on this machine"
        );
        eprintln!("skipped: promtool is not on this machine");
    }
    is_here
}

/// Runs the checker on what it reads, and gives what it says.
pub(crate) fn checked(words: &[&str], input: &str) -> String {
    let mut child = Command::new("promtool")
        .args(words)
        .current_dir(root())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child
        .stdin
        .take()
        .unwrap()
        .write_all(input.as_bytes())
        .unwrap();
    let output = child.wait_with_output().unwrap();
    let said = [output.stdout, output.stderr].concat();
    let said = String::from_utf8_lossy(&said).into_owned();
    assert!(
        output.status.success(),
        "promtool {words:?}: {said}\n{input}"
    );
    said
}

/// Source: `promtool check metrics`, which reads the older text format and knows how names should be.
#[test]
fn the_checker_finds_nothing_in_the_page() {
    if !is_here() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let (fettled, url) = Fettled::serve_measured(&kept_demo(folder.path(), &[]));
    done(Shop::At(&fettled.url), &["wash", "P-01"]);
    let page = body(&url, "");
    assert_eq!(checked(&["check", "metrics"], &page), "");
}

/// Source: `promtool check rules` and `promtool test rules`.
#[test]
fn the_example_of_alert_rules_is_one_and_calls_when_it_should() {
    if !is_here() {
        return;
    }
    checked(&["check", "rules", "server/fettled.alerts.yml"], "");
    checked(&["test", "rules", "tests/suite/alerts.yml"], "");
}

/// Every figure that the rules ask for is on the page, but what a collector itself adds.
#[test]
fn every_figure_of_the_alert_rules_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let (_fettled, url) = Fettled::serve_measured_tls(&kept_demo(folder.path(), &[]));
    let page = body(&url, "");
    // Of an engine only a node tells.
    #[cfg(unix)]
    let of_engine = crate::engine_figures::page().unwrap_or_default();
    #[cfg(not(unix))]
    let of_engine = String::new();
    let told = [page, of_engine].concat();
    let rules = std::fs::read_to_string(root().join("server/fettled.alerts.yml")).unwrap();
    let rules = rules.lines().filter(|line| !line.contains("todo:"));
    let words: Vec<String> = rules
        .flat_map(|line| line.split(|c: char| !c.is_ascii_alphanumeric() && c != '_'))
        .filter(|word| word.starts_with("fettled_") || word.starts_with("process_"))
        .map(str::to_owned)
        .collect();
    assert!(words.len() > 10, "{words:?}");
    let of_an_engine = |word: &String| word.starts_with("fettled_engine_");
    for word in words {
        if of_an_engine(&word) && !told.contains("# TYPE fettled_engine_answers") {
            continue;
        }
        let is_told = told
            .lines()
            .any(|line| line.starts_with(&format!("{word} ")));
        assert!(is_told, "{word}\n{told}");
    }
}
