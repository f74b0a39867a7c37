//! Situations that a practitioner knows, and what the check says of each.
//!
//! The table is `situations.md`, for people; each of its rows drives the check of a book.

mod set_up;

use std::collections::BTreeSet;

use fettlebook_model::check::{JobCheck, Line, LineKind, Verdict, check_jobs};

use crate::shop::{Shop, id};

const TABLE: &str = include_str!("situations.md");

/// A row of the table.
struct Row<'a> {
    situation: &'a str,
    line: &'a str,
    verdict: &'a str,
    words: &'a str,
    ends: &'a str,
}

fn rows() -> Vec<Row<'static>> {
    let lines = TABLE.lines().filter(|line| line.starts_with("| "));
    let cells = lines.map(|line| {
        let inner = line.trim_matches('|');
        inner.split('|').map(str::trim).collect::<Vec<_>>()
    });
    cells
        .skip(1)
        .map(|cells| match cells[..] {
            [situation, line, verdict, words, ends] => Row {
                situation,
                line,
                verdict,
                words,
                ends,
            },
            _ => panic!("five columns: {cells:?}"),
        })
        .collect()
}

fn kind(word: &str) -> LineKind {
    match word {
        "machine" => LineKind::Machine,
        "plate" => LineKind::Plate,
        "pad" => LineKind::Pad,
        "liquid" => LineKind::Liquid,
        "towel" => LineKind::Towel,
        "sundry" => LineKind::Sundry,
        "tool" => LineKind::Tool,
        "film" => LineKind::Film,
        "vibration" => LineKind::Vibration,
        "noise" => LineKind::Noise,
        "time" => LineKind::Time,
        other => panic!("no line of the check is called {other}"),
    }
}

fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Go => "go",
        Verdict::Watch => "watch",
        Verdict::Stop => "stop",
    }
}

/// The gravest line of a kind.
fn gravest(check: &JobCheck, kind: LineKind) -> Option<&Line> {
    let lines = check.lines.iter().filter(|line| line.kind == kind);
    lines.rev().max_by_key(|line| line.verdict)
}

/// What the check has to say and does not.
fn differences(row: &Row<'_>) -> Vec<String> {
    let mut shop = Shop::ready();
    let name = row.situation;
    match set_up::of(name) {
        Some(set_up) => set_up(&mut shop),
        None => return vec![format!("{name}: nobody sets it up")],
    }
    if shop.book.job(&id("thursday")).is_none() {
        shop.book_saloon("thursday", "2026-03-05 08:00");
    }
    let checks = check_jobs(&shop.book, &[id("thursday")], shop.now).unwrap();
    let check = &checks[0];
    let Some(line) = gravest(check, kind(row.line)) else {
        return vec![format!("{name}: no {} line", row.line)];
    };
    let mut found = Vec::new();
    if word(line.verdict) != row.verdict || word(check.verdict) != row.verdict {
        let grave = check.lines.iter().filter(|line| line.verdict > Verdict::Go);
        let grave: Vec<_> = grave.map(|line| (line.kind, &line.reason)).collect();
        found.push(format!(
            "{name}: line {}, job {}, not {}: {grave:?}",
            word(line.verdict),
            word(check.verdict),
            row.verdict
        ));
    }
    if !line.reason.contains(row.words) {
        found.push(format!("{name}: says {:?}", line.reason));
    }
    if !row.ends.is_empty() && !line.todos.iter().any(|todo| todo.contains(row.ends)) {
        found.push(format!("{name}: asks {:?}", line.todos));
    }
    found
}

#[test]
fn the_check_says_of_each_situation_what_the_table_says() {
    let found: Vec<String> = rows().iter().flat_map(differences).collect();
    assert!(found.is_empty(), "\n{}", found.join("\n"));
}

#[test]
fn the_table_has_its_situations_once_and_names_what_ends_each_stop() {
    let rows = rows();
    let names: BTreeSet<&str> = rows.iter().map(|row| row.situation).collect();
    assert_eq!(names.len(), rows.len());
    assert!(rows.len() >= 40, "{}", rows.len());
    assert_eq!(names, set_up::all().map(|(name, _)| name).collect());
    for row in rows {
        assert!(
            row.verdict != "stop" || !row.ends.is_empty(),
            "{}",
            row.situation
        );
    }
}
