//! What `--json` prints fits what `fettle schema` says of it, by a validator that is not ours.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::Write as _;
use std::path::Path;
use std::process::{Output, Stdio};

use serde_json::{Value, json};

use crate::binaries::{Fettled, Shop, done, fettle, kept_demo};
use crate::paired::{Device, code};
use crate::python::{script_command, succeeded};

/// The command lines, each with the command that its schema is asked for.
const LINES: &str = include_str!("schemas.txt");

/// Commands of a shop, which are run below; those that open a shop or its page start a service, and are run in
/// `opened.rs` and `own_page.rs`.
const OF_A_SHOP: [&str; 11] = [
    "page",
    "shop-open",
    "shop-pair",
    "shop-devices",
    "shop-codes",
    "shop-export-key",
    "shop-sync",
    "shop-parked",
    "shop-address",
    "shop-where",
    "shop-leave",
];
/// It prints text, whatever is asked for.
const TEXT: &str = "sheet";

/// What was printed, to be checked.
struct Seen {
    option: &'static str,
    cases: Vec<Value>,
    schemas: BTreeMap<String, Value>,
}

impl Seen {
    fn new(option: &'static str) -> Self {
        Self {
            option,
            cases: Vec::new(),
            schemas: BTreeMap::new(),
        }
    }

    /// Runs a command, and keeps what it printed with its schema. It may fail where it is told to.
    fn run(&mut self, shop: Shop<'_>, command: &str, words: &[&str], may_fail: bool) {
        let typed = [&[self.option], words].concat();
        let output = fettle(shop, &typed);
        let document = documents(&output);
        let failed = document.iter().any(|one| one.get("error").is_some());
        assert!(!failed || may_fail, "{words:?}: {document:?}");
        assert!(!document.is_empty(), "{words:?} printed nothing");
        self.keep(command, &words.join(" "), document);
    }

    fn keep(&mut self, command: &str, typed: &str, documents: Vec<Value>) {
        let option = self.option;
        let schema = self.schemas.entry(command.to_owned());
        let schema = schema.or_insert_with(|| {
            let words = ["schema", option].into_iter().chain(command.split(' '));
            let folder = tempfile::tempdir().unwrap();
            let printed = done(Shop::Solo(folder.path()), &words.collect::<Vec<_>>());
            serde_json::from_str(&printed).unwrap()
        });
        for document in documents {
            let case = json!({ "typed": typed, "schema": schema, "document": document });
            self.cases.push(case);
        }
    }

    /// Has all that was kept checked, and gives the commands; nothing where there is no validator here.
    fn check(self) -> Option<BTreeSet<String>> {
        let mut command = script_command("schemas.py", &["jsonschema"])?;
        let mut child = command
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut input = child.stdin.take().unwrap();
        input
            .write_all(&serde_json::to_vec(&self.cases).unwrap())
            .unwrap();
        drop(input);
        succeeded(&child.wait_with_output().unwrap());
        Some(self.schemas.into_keys().collect())
    }
}

/// Checks a document that another test has.
pub(crate) fn fits(command: &str, document: &Value) {
    let mut seen = Seen::new("--json");
    seen.keep(command, command, vec![document.clone()]);
    seen.check();
}

/// The documents that a command printed, one or one a line.
fn documents(output: &Output) -> Vec<Value> {
    let all = serde_json::Deserializer::from_slice(&output.stdout).into_iter();
    all.collect::<Result<_, _>>()
        .unwrap_or_else(|error| panic!("{error}: {}", String::from_utf8_lossy(&output.stdout)))
}

/// The words of a command line as a shell takes them: what stands in quotes is one.
fn words(line: &str, folder: &Path) -> Vec<String> {
    let parts = line.split('\'').enumerate();
    let words = parts.flat_map(|(number, part)| {
        if number % 2 == 1 {
            vec![part.to_owned()]
        } else {
            part.split_whitespace().map(str::to_owned).collect()
        }
    });
    let folder = folder.display().to_string();
    words.map(|word| word.replace("DIR", &folder)).collect()
}

/// Runs every line on a book of the demo.
fn every_line(option: &'static str) -> Option<BTreeSet<String>> {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let mut seen = Seen::new(option);
    for line in LINES.lines().filter(|line| !line.starts_with('#')) {
        let (command, typed) = line.split_once(": ").unwrap();
        let words = words(typed, folder.path());
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        let may_fail = typed.ends_with("P-99") || typed.ends_with("never");
        seen.run(Shop::Solo(&book), command, &words, may_fail);
    }
    seen.check()
}

#[test]
fn what_every_command_prints_as_json_fits_its_schema() {
    let Some(seen) = every_line("--json") else {
        return;
    };
    let seen: BTreeSet<String> = seen.iter().map(|name| name.replace(' ', "-")).collect();
    let elsewhere = OF_A_SHOP.into_iter().chain([TEXT]).map(str::to_owned);
    let known: BTreeSet<String> = seen.into_iter().chain(elsewhere).collect();
    assert_eq!(known, all_commands());
}

/// Every command that does something, by the manual pages: a noun has a page for each of its commands too.
fn all_commands() -> BTreeSet<String> {
    let folder = tempfile::tempdir().unwrap();
    let pages = folder.path().join("man");
    done(Shop::Solo(folder.path()), &["man", pages.to_str().unwrap()]);
    let names = fs::read_dir(&pages).unwrap().map(|page| {
        let name = page.unwrap().file_name().to_string_lossy().into_owned();
        name.trim_end_matches(".1").to_owned()
    });
    let names: BTreeSet<String> = names.collect();
    let is_noun = |name: &String| {
        names
            .iter()
            .any(|other| other.starts_with(&format!("{name}-")))
    };
    let leaves = names.iter().filter(|name| !is_noun(name));
    leaves
        .map(|name| name.trim_start_matches("fettle-").to_owned())
        .collect()
}

#[test]
fn with_numbers_it_fits_the_schema_of_numbers() {
    every_line("--json-numbers");
}

/// The same of a shop's devices: opened, paired, sent, refused, revoked, left.
#[test]
fn what_the_commands_of_a_shop_print_fits_too() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let fettled = Fettled::serve_tls(&book);
    let owner = Device::pair(&book, "bench", "own");
    let mut seen = Seen::new("--json");
    seen.run(owner.shop(), "shop devices", &["shop", "devices"], false);
    seen.run(
        owner.shop(),
        "shop pair",
        &["shop", "pair", "--name", "van-b"],
        false,
    );
    let codes = ["shop", "codes"];
    seen.run(owner.shop(), "shop codes", &codes, false);
    let withdraw = ["shop", "codes", "--withdraw", "van-b"];
    seen.run(owner.shop(), "shop codes", &withdraw, false);
    let to = folder.path().to_str().unwrap();
    let export = ["shop", "export-key", "--for", "reader", "--to", to];
    seen.run(owner.shop(), "shop export-key", &export, false);
    let home = tempfile::tempdir().unwrap();
    let van = Shop::Paired(home.path());
    let code = code(&book, "van-a", "work");
    seen.run(van, "shop pair", &["shop", "pair", &code], false);
    seen.run(van, "shop sync", &["shop", "sync"], false);
    seen.run(van, "book where", &["book", "where"], false);
    seen.run(van, "wash", &["wash", "P-09"], false);
    let role = ["shop", "devices", "--role", "van-a=look"];
    seen.run(owner.shop(), "shop devices", &role, false);
    fettled.stop();
    seen.run(van, "wash", &["wash", "P-06"], false);
    seen.run(van, "shop sync", &["shop", "sync"], true);
    seen.run(van, "shop parked", &["shop", "parked"], false);
    let fettled = Fettled::serve_tls(&book);
    seen.run(van, "shop where", &["shop", "where"], false);
    let moved = ["shop", "address", fettled.address()];
    seen.run(van, "shop address", &moved, false);
    seen.run(van, "shop sync", &["shop", "sync"], true);
    seen.run(van, "shop parked", &["shop", "parked"], false);
    seen.run(van, "shop leave", &["shop", "leave"], false);
    seen.check();
}

#[test]
fn with_nothing_booked_a_check_ends_well_and_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let shop = Shop::Solo(folder.path());
    for (words, says) in [
        (["check"].as_slice(), "No booked job to check."),
        (&["check", "--full", "--strict"], "No booked job to check."),
        (&["check", "--week"], "No job is booked for these days."),
    ] {
        let said = done(shop, words);
        assert!(said.starts_with(says), "{words:?}: {said}");
    }
    let document: Value = serde_json::from_str(&done(shop, &["check", "--json"])).unwrap();
    assert_eq!(document["verdict"], "VERDICT_UNSPECIFIED");
    fits("check", &document);
    assert_eq!(fettle(shop, &["check", "never"]).status.code(), Some(4));
}
