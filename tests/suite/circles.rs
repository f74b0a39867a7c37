//! Circles of files in the client: a file may need its neighbours in a folder and they it, but no
//! circle leaves a folder, so that a folder can be read by itself.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use crate::python::root;
use crate::tidy::rust_files;

/// The files of the client, each as a module, with the modules that it names outside its tests.
fn uses() -> BTreeMap<String, BTreeSet<String>> {
    let client = root().join("client");
    let mut texts = BTreeMap::new();
    for path in rust_files(&client) {
        let module = module(path.strip_prefix(&client).unwrap());
        let for_tests = ["tests", "testing", "fuzz", "scenario"];
        let outside = ["lib", "main"].contains(&module.as_str());
        if outside || module.split("::").any(|part| for_tests.contains(&part)) {
            continue;
        }
        let text = fs::read_to_string(&path).unwrap();
        let code = text.split("#[cfg(test)]\nmod tests {").next().unwrap();
        let lines = code
            .lines()
            .filter(|line| !line.trim_start().starts_with("//"));
        texts.insert(module, lines.collect::<Vec<_>>().join("\n"));
    }
    let of = |module: &String, text: &String| {
        let named = named(module, text).into_iter();
        let files = named.filter_map(|path| file_of(&path, &texts));
        files.filter(|found| found != module).collect()
    };
    texts
        .iter()
        .map(|(module, text)| (module.clone(), of(module, text)))
        .collect()
}

/// `commands/car.rs` as `commands::car`.
fn module(path: &Path) -> String {
    let path = path.with_extension("");
    let parts = path.iter().map(|part| part.to_string_lossy());
    parts.collect::<Vec<_>>().join("::")
}

/// The paths that a text names below the crate, the ones in braces each by itself.
fn named(module: &str, text: &str) -> Vec<String> {
    let above = module.rsplit_once("::").map_or("", |(above, _)| above);
    let mut paths = Vec::new();
    for (word, before) in [("crate::", ""), ("super::", above)] {
        for (at, _) in text.match_indices(word) {
            let rest = &text[at + word.len()..];
            let end = rest
                .find(|c: char| c != ':' && c != '_' && !c.is_alphanumeric())
                .unwrap_or(rest.len());
            let (path, after) = rest.split_at(end);
            let path = format!("{before}::{path}");
            let list = after
                .strip_prefix('{')
                .and_then(|list| list.split_once('}'));
            match list.filter(|_| path.ends_with("::")) {
                Some((list, _)) => {
                    paths.extend(list.split(',').map(|one| path.clone() + one.trim()))
                }
                None => paths.push(path),
            }
        }
    }
    // A folder's file names what it holds without a word before it.
    let held = text
        .lines()
        .filter_map(|line| line.strip_suffix(';')?.split_once("mod "));
    let held = held.filter(|(_, name)| text.contains(&format!("{name}::")));
    paths.extend(held.map(|(_, name)| format!("{module}::{name}")));
    paths
}

/// The file in which the end of a path stands.
fn file_of(path: &str, texts: &BTreeMap<String, String>) -> Option<String> {
    let mut path = path.trim_start_matches("::");
    while !texts.contains_key(path) {
        path = path.rsplit_once("::")?.0;
    }
    Some(path.to_owned())
}

/// Everything that a file needs, and what that needs.
fn reached<'a>(from: &'a str, uses: &'a BTreeMap<String, BTreeSet<String>>) -> BTreeSet<&'a str> {
    let mut found = BTreeSet::new();
    let mut left = vec![from];
    while let Some(module) = left.pop() {
        for next in &uses[module] {
            if found.insert(next.as_str()) {
                left.push(next);
            }
        }
    }
    found
}

/// The folder that a file is of: a noun of the commands, or a room.
fn folder(module: &str) -> &str {
    let rest = module.strip_prefix("commands::");
    rest.unwrap_or(module).split("::").next().unwrap()
}

#[test]
fn no_circle_of_the_clients_files_leaves_its_folder() {
    let uses = uses();
    assert!(
        uses["commands::wash"].contains("connect"),
        "the walk finds nothing"
    );
    let reach: BTreeMap<&str, BTreeSet<&str>> = uses
        .keys()
        .map(|module| (module.as_str(), reached(module, &uses)))
        .collect();
    for (from, found) in &reach {
        let back = found.iter().filter(|to| reach[*to].contains(from));
        let outside: Vec<_> = back.filter(|to| folder(to) != folder(from)).collect();
        assert!(
            outside.is_empty(),
            "{from} stands in a circle with {outside:?}"
        );
    }
}
