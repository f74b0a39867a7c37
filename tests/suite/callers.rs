//! What is proved is what runs: whatever the model makes public is called from outside of it.
//!
//! Of items that are not public the compiler says itself that nobody calls them. So a public one is
//! held to have its caller in another package; whatever has none there is to be `pub(crate)`.

use std::collections::{BTreeMap, BTreeSet};

use crate::python::root;
use crate::wings::{Source, code, sources, words};

/// Public items without a caller that are kept for what comes next: towels by their folds, and a dot by
/// weighing twenty.
const KEPT: [&str; 1] = ["dot_volume_from_weighing"];

/// Words that are followed by the name of what they define.
const DEFINING: [&str; 9] = [
    "fn", "const", "static", "struct", "enum", "trait", "type", "mod", "let",
];

/// A public item: its kind, and its name.
fn public(line: &str) -> Option<(&str, &str)> {
    let line = line.trim_start().strip_prefix("pub ")?;
    let line = line
        .strip_prefix("const ")
        .filter(|rest| rest.starts_with("fn "))
        .unwrap_or(line);
    let (kind, rest) = line.split_once(' ')?;
    let kinds = ["fn", "const", "static", "struct", "enum", "trait", "type"];
    kinds
        .contains(&kind)
        .then(|| Some((kind, words(rest).next()?)))?
}

/// Names that a code calls: by a path, as a function or a method with what it is given, or as a constant.
/// A field or a variable of the same name calls nothing.
fn called(code: &str) -> BTreeSet<&str> {
    let mut names = BTreeSet::new();
    let mut before = "";
    for word in words(code) {
        let Some(at) = code_offset(code, word) else {
            continue;
        };
        let (ahead, behind) = (&code[..at], &code[at + word.len()..]);
        let by_path = ahead.ends_with("::");
        let is_given = behind.starts_with('(') || behind.starts_with("::<");
        let is_constant = word.len() > 1 && !word.contains(|letter: char| letter.is_lowercase());
        if !DEFINING.contains(&before) && (by_path || is_given || is_constant) {
            names.insert(word);
        }
        before = word;
    }
    names
}

/// Where in a code a word stands that was cut out of it.
fn code_offset(code: &str, word: &str) -> Option<usize> {
    (word.as_ptr() as usize).checked_sub(code.as_ptr() as usize)
}

/// Names that a code takes from the model by a `use`.
fn taken(code: &str) -> BTreeSet<&str> {
    let trees = code.split("use fettlebook_model").skip(1);
    let trees = trees.map(|rest| rest.split(';').next().unwrap_or_default());
    trees.flat_map(words).collect()
}

/// Public items of the model that no other package calls outside its tests. What the model calls itself
/// may be public for the stories in `tests`, which stand outside of it.
fn uncalled(model: &[Source], others: &[Source], stories: &[Source]) -> Vec<String> {
    let reached = |sources: &[Source]| -> BTreeSet<String> {
        let names = sources
            .iter()
            .flat_map(|(_, code)| called(code).into_iter().chain(taken(code)));
        names.map(str::to_owned).collect()
    };
    let (by_others, by_stories) = (reached(others), reached(stories));
    let by_itself = reached(model);
    let mut said = BTreeMap::new();
    let lines = model.iter().flat_map(|(_, code)| code.lines());
    // What is implemented for a type is no use of it.
    for word in lines
        .filter(|line| !line.trim_start().starts_with("impl"))
        .flat_map(words)
    {
        *said.entry(word).or_insert(0_usize) += 1;
    }
    let mut found = Vec::new();
    for (path, code) in model {
        for (kind, name) in code.lines().filter_map(public) {
            let is_type = ["struct", "enum", "trait", "type"].contains(&kind);
            let by_model = if is_type {
                said.get(name).is_some_and(|times| *times > 1)
            } else {
                by_itself.contains(name) && by_stories.contains(name)
            };
            if !by_others.contains(name) && !by_model && !KEPT.contains(&name) {
                found.push(format!("{path}: {name}"));
            }
        }
    }
    found
}

#[test]
fn every_public_item_of_the_model_has_a_caller_outside_tests() {
    let model = sources(&root().join("server/model"));
    let mut others = sources(&root().join("server"));
    others.retain(|(path, _)| !path.starts_with("model/"));
    let mut stories = sources(&root().join("tests"));
    stories.extend(sources(&root().join("server/model/tests/ledger")));
    assert_eq!(
        uncalled(&model, &others, &stories),
        [""; 0],
        "make these pub(crate), and drop what the compiler then says is never used"
    );
    for name in KEPT {
        let mut items = model
            .iter()
            .flat_map(|(_, code)| code.lines().filter_map(public));
        assert!(
            items.any(|(_, kept)| kept == name),
            "{name} is kept no more"
        );
    }
}

/// Called by its own crate alone, by tests alone, or of the name of a field elsewhere.
#[test]
fn a_public_item_without_a_caller_outside_is_found() {
    let planted = code(
        "pub use a::planted;\n/// planted\npub fn planted() {}\npub const fn used() {}\n\
         pub fn inner() {}\nfn b() { inner(); story() }\npub fn story() {}\n\
         pub const MOST: i64 = 1;\npub struct Alone;\nimpl Alone {}\n\
         impl A {\n    pub fn count(&self) {}\n    pub fn told(&self) {}\n}\n\
         #[cfg(test)]\nmod tests {\n    fn a() { super::planted() }\n}\n",
    );
    let model = [("maths/a.rs".to_owned(), planted)];
    let others = [(
        "edge/b.rs".to_owned(),
        "use fettlebook_model::a::{used};\nfn b(planted: u8) { c.count = 1; c.told() }".to_owned(),
    )];
    let stories = [("ledger/c.rs".to_owned(), "fn c() { a::story() }".to_owned())];
    assert_eq!(
        uncalled(&model, &others, &stories),
        ["planted", "inner", "MOST", "Alone", "count"].map(|name| format!("maths/a.rs: {name}"))
    );
}
