//! The model's wings: each knows only those before it.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use crate::python::root;
use crate::tidy::rust_files;

/// The wings of `server/model`, each knowing those before it alone.
const WINGS: [&str; 7] = [
    "ground", "maths", "trade", "book", "ready", "decide", "answers",
];

/// A file by its path below `server/model`, or below the root where it is of another room, and its code.
pub(crate) type Source = (String, String);

/// Code without comments and without the tests at its end.
pub(crate) fn code(text: &str) -> String {
    let without_tests = text.split("#[cfg(test)]\nmod tests").next();
    let lines = without_tests.unwrap_or_default().lines();
    let lines = lines.filter(|line| !line.trim_start().starts_with("//"));
    lines.collect::<Vec<_>>().join("\n")
}

/// The code of a folder, tests left out.
pub(crate) fn sources(folder: &Path) -> Vec<Source> {
    let of = |path: &Path| path.strip_prefix(folder).unwrap().display().to_string();
    rust_files(folder)
        .iter()
        .map(|path| (of(path), fs::read_to_string(path).unwrap()))
        .filter(|(path, _)| {
            !path
                .split('/')
                .any(|part| part == "tests" || part == "tests.rs")
        })
        .map(|(path, text)| (path, code(&text)))
        .collect()
}

pub(crate) fn words(text: &str) -> impl Iterator<Item = &str> {
    let parts = text.split(|letter: char| !letter.is_alphanumeric() && letter != '_');
    parts.filter(|word| !word.is_empty())
}

/// First names of the paths below the crate that a code goes by: `a` of `crate::a::b`, and of a group each.
fn reached(code: &str) -> BTreeSet<&str> {
    let mut names = BTreeSet::new();
    for rest in code.split("crate::").skip(1) {
        if let Some(group) = rest.strip_prefix('{') {
            let group = group.split("};").next().unwrap_or_default();
            let (mut depth, mut start) = (0_usize, true);
            for part in group.split_inclusive(['{', '}', ',']) {
                if depth == 0 && start {
                    names.extend(words(part).next());
                }
                match part.chars().last() {
                    Some('{') => depth += 1,
                    Some('}') => depth = depth.saturating_sub(1),
                    _ => {}
                }
                start = part.ends_with(',');
            }
        } else {
            names.extend(words(rest).next());
        }
    }
    names
}

/// The wing behind each name that `lib.rs` hands out at the crate's own level.
fn handed_out(lib: &str) -> BTreeMap<&str, &str> {
    let mut by_name = BTreeMap::new();
    for line in lib.split("pub use ").skip(1) {
        let path = line.split(';').next().unwrap_or_default();
        if let Some(wing) = words(path).next() {
            by_name.extend(words(path).map(|name| (name, wing)));
        }
    }
    by_name
}

/// Files that reach up: `trade/car.rs: answers`.
fn reaching_up(model: &[Source]) -> Vec<String> {
    let lib = model.iter().find(|(path, _)| path == "lib.rs");
    let by_name = lib.map_or_else(BTreeMap::new, |(_, code)| handed_out(code));
    let floor = |wing: &str| WINGS.iter().position(|known| *known == wing);
    let mut up = Vec::new();
    for (path, code) in model {
        let wing = path.split(['/', '.']).next().unwrap_or_default();
        let Some(own) = floor(wing) else { continue };
        for name in reached(code) {
            let of = by_name.get(name).copied().unwrap_or(name);
            if floor(of).is_some_and(|of| of > own) {
                up.push(format!("{path}: {of}"));
            }
        }
    }
    up
}

#[test]
fn no_wing_of_the_model_reaches_up() {
    let model = sources(&root().join("server/model"));
    for wing in WINGS {
        assert!(
            model.iter().any(|(path, _)| *path == format!("{wing}.rs")),
            "{wing} has moved"
        );
    }
    assert_eq!(reaching_up(&model), [""; 0]);
    let rooms: BTreeSet<&str> = (model.iter())
        .filter_map(|(path, _)| path.split(['/', '.']).next())
        .collect();
    let known: BTreeSet<&str> = WINGS.into_iter().chain(["lib"]).collect();
    assert_eq!(rooms, known, "every file of the model is in a wing");
}

#[test]
fn an_arrow_that_was_turned_up_is_found() {
    let model = [
        (
            "lib.rs",
            "pub use book::deed::{Deed, Entry};\npub use ground::Moment;",
        ),
        (
            "trade/car.rs",
            "use crate::ground::ids::Id;\nuse crate::{Entry, Moment};",
        ),
        ("trade/job.rs", "use crate::maths::root::root;"),
        ("ready/pick.rs", "fn a() { crate::answers::check::b() }"),
        ("answers/check.rs", "use crate::{ready::{c, d}, decide};"),
    ];
    let model = model.map(|(path, code)| (path.to_owned(), code.to_owned()));
    assert_eq!(
        reaching_up(&model),
        ["trade/car.rs: book", "ready/pick.rs: answers"]
    );
}
