//! Words that people try for commands that go by others.

/// The command before, the word tried, and the command that does it.
const COMMANDS: &[(&str, &[&str], &str)] = &[
    (
        "fettle",
        &["stock", "inventory", "pads", "list", "ls"],
        "fettle kit list",
    ),
    (
        "fettle",
        &["bottle", "bottles", "liquids", "machines", "towels"],
        "fettle kit list",
    ),
    ("fettle", &["add", "new", "buy", "get"], "fettle receive"),
    ("fettle", &["use", "used", "done", "finish"], "fettle log"),
    (
        "fettle",
        &["delete", "remove", "rm", "throw", "discard", "trash"],
        "fettle bin",
    ),
    (
        "fettle",
        &["history", "journal", "diary"],
        "fettle book entries",
    ),
    ("fettle", &["backup"], "fettle book backup"),
    ("fettle", &["revert", "reverse"], "fettle undo"),
    (
        "fettle",
        &["pour", "top-up", "decant", "refill"],
        "fettle fill",
    ),
    (
        "fettle",
        &["policy", "settings", "config"],
        "fettle book policy",
    ),
    ("fettle", &["status", "where"], "fettle book where"),
    ("fettle", &["plan", "jobs", "calendar"], "fettle job list"),
    ("fettle", &["cars", "customer"], "fettle car list"),
    ("fettle", &["prices", "suppliers"], "fettle supplier list"),
    ("fettle", &["orders"], "fettle order list"),
    ("fettle", &["life", "left"], "fettle wear"),
    ("fettle", &["offer", "invoice", "estimate"], "fettle quote"),
    (
        "fettle job",
        &["delete", "remove", "rm", "cancel", "drop"],
        "fettle job call-off",
    ),
    ("fettle job", &["book", "new", "create"], "fettle job add"),
    ("fettle job", &["check"], "fettle check"),
    ("fettle job", &["log", "done", "finish"], "fettle log"),
    (
        "fettle job",
        &["move", "change", "update", "set"],
        "fettle job edit",
    ),
    ("fettle job", &["quote", "price"], "fettle quote"),
    ("fettle car", &["cost", "price"], "fettle job cost"),
    ("fettle car", &["new", "create"], "fettle car add"),
    (
        "fettle car",
        &["change", "update", "set"],
        "fettle car edit",
    ),
    ("fettle kit", &["add", "new", "receive"], "fettle receive"),
    (
        "fettle kit",
        &["delete", "remove", "rm", "bin"],
        "fettle bin",
    ),
    ("fettle kit", &["move"], "fettle move"),
    ("fettle kit", &["wash"], "fettle wash"),
    ("fettle kit", &["count"], "fettle count"),
    ("fettle kit", &["back", "fetch"], "fettle kit return"),
    ("fettle make", &["new", "create"], "fettle make add"),
    (
        "fettle make",
        &["change", "update", "set", "price"],
        "fettle make edit",
    ),
    ("fettle routine", &["new", "create"], "fettle routine add"),
    (
        "fettle routine",
        &["change", "update", "set"],
        "fettle routine edit",
    ),
    ("fettle supplier", &["new", "create"], "fettle supplier add"),
    (
        "fettle supplier",
        &["change", "update", "set"],
        "fettle supplier edit",
    ),
    (
        "fettle order",
        &["new", "create", "draft"],
        "fettle order add",
    ),
    ("fettle order", &["receive"], "fettle receive"),
    (
        "fettle order",
        &["cancel", "delete", "remove"],
        "fettle order close",
    ),
    ("fettle book", &["undo", "revert"], "fettle undo"),
    (
        "fettle book",
        &["history", "log", "list"],
        "fettle book entries",
    ),
    ("fettle book", &["check"], "fettle book verify"),
    ("fettle book", &["settings", "config"], "fettle book policy"),
];

/// The command that does what a word was tried for.
pub(super) fn command(path: &str, said: &str) -> Option<&'static str> {
    let said = said.to_lowercase();
    let mut all = COMMANDS.iter();
    all.find(|(of, words, _)| *of == path && words.contains(&said.as_str()))
        .map(|(.., does)| *does)
}

/// What to do where a word is tried that is none for an option.
pub(super) fn word(option: &str, said: &str) -> Option<&'static str> {
    Some(match (option, said.to_lowercase().as_str()) {
        ("--because", "dirty" | "soiled") => {
            "What is dirty wants a wash, and goes on paint again when it is dry: 'fettle wash'."
        }
        ("--because", "mistake" | "error" | "wrong") => {
            "What was recorded by mistake is taken back by 'fettle undo', with its number or without."
        }
        _ => return None,
    })
}
