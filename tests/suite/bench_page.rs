//! The page at the bench in a real browser: Debian's Chromium as a telephone, driven by the scripts in
//! `tests/js/page`, and read by axe-core.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

use serde_json::{Value, json};

use crate::binaries::{Fettled, Shop, done, json as asked, kept_demo};
use crate::chromium::{driven_by, printed};
use crate::ports::free;
use crate::python::{root, run_script, succeeded};

/// Where the telephone finds the page; the browser is told that this is here.
const HOST: &str = "bench.example";
/// The job of the demo that is next.
const JOB: &str = "black-suv";
/// What the scale shows.
const GRAMS: &str = "431";

/// The promise: from the code's address to the logged job.
const TAPS_MAX: u64 = 12;
const LETTERS_MAX: u64 = 6;

/// Addresses of the page that are no views: a file, a search that leads on, a stream.
const NO_VIEWS: [&str; 2] = ["/t", "/entries/watch"];

/// A code for a telephone that reaches the page there: as the address that its picture holds, and as it is typed.
fn code(book: &Path, name: &str, role: &str, at: &str) -> (String, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fettled"));
    command.args(["pair", "--name", name, "--role", role, "--at", at, "--book"]);
    let said = succeeded(&command.arg(book).stdin(Stdio::null()).output().unwrap());
    let mut words = said.split_whitespace();
    let typed = words.find(|word| word.starts_with(&format!("{at}/")));
    let address = words.find(|word| word.starts_with("https://"));
    let (_, letters) = typed.unwrap().rsplit_once('/').unwrap();
    (address.unwrap().to_owned(), letters.to_owned())
}

/// What a printed label of a piece holds, read by a decoder; nothing where that is skipped.
fn label(shop: Shop<'_>, folder: &Path, tag: &str, at: &str) -> Option<String> {
    let file = folder.join("label.html");
    let path = file.to_str().unwrap();
    done(shop, &["labels", tag, "--page", at, "--paper", path]);
    let pdf = printed(&file)?;
    let before = format!("https://{at}/t/");
    let args = [pdf.to_str().unwrap(), "3", "8", "70", "36", &before];
    let read = run_script("labels_read.py", &["pdfplumber", "zxingcpp"], &args)?;
    let read = succeeded(&read);
    Some(format!(
        "{before}{}",
        read.split_whitespace().last().unwrap()
    ))
}

/// Runs a script to its end and gives what it found.
fn told(mut script: Command, asked: &Value) -> Value {
    let output = script.arg(asked.to_string()).output().unwrap();
    serde_json::from_str(&succeeded(&output)).unwrap()
}

/// Number of the last entry.
fn head(shop: Shop<'_>) -> u64 {
    let entries = asked(shop, &["book", "entries"]);
    let last = entries["entries"].as_array().unwrap().last().unwrap();
    last["seq"].as_str().unwrap().parse().unwrap()
}

#[test]
fn a_telephone_logs_a_job_in_a_few_taps_and_tells_each_deed_once_whatever_its_signal() {
    let Some(script) = driven_by("page/day.js") else {
        return;
    };
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let shop = Shop::Solo(&book);
    let free = free();
    let (_, port) = free.rsplit_once(':').unwrap();
    let port: u16 = port.parse().unwrap();
    let at = format!("{HOST}:{port}");
    let Some(label) = label(shop, folder.path(), "P-01", &at) else {
        return;
    };
    let before = head(shop);
    let log = folder.path().join("fettled.log");
    let fettled = Fettled::serve_tls_logged(&book, &log);
    let service: u16 = fettled
        .address()
        .rsplit_once(':')
        .unwrap()
        .1
        .parse()
        .unwrap();
    let (address, letters) = code(&book, "phone-a", "work", &at);
    let (_, second) = code(&book, "phone-b", "look", &at);
    let did = told(
        script,
        &json!({
            "host": HOST, "port": port, "service": service, "code": address, "job": JOB,
            "grams": GRAMS, "label": label, "second": second,
        }),
    );
    fettled.stop();
    let logged = &did["log"];
    let (taps, typed) = (
        logged["taps"].as_u64().unwrap(),
        logged["typed"].as_u64().unwrap(),
    );
    eprintln!("from the code to the logged job: {taps} taps, {typed} letters");
    assert!(taps <= TAPS_MAX && typed <= LETTERS_MAX, "{did}");
    let entry = asked(shop, &["book", "show", &logged["entry"].to_string()]);
    let entry = entry.to_string();
    assert!(
        entry.contains("phone-a") && entry.contains("torn"),
        "{entry}"
    );
    assert!(entry.contains(&format!("{GRAMS} g")), "{entry}");
    let piece = asked(shop, &["kit", "show", logged["pad"].as_str().unwrap()]);
    assert_eq!(piece["piece"]["binReason"], "BIN_REASON_TORN", "{piece}");
    assert_eq!(did["twice"]["entry"], did["twice"]["again"]);
    for met in ["lost", "cut"] {
        let [without, back] = ["without", "back"].map(|when| did[met][when].as_str().unwrap());
        assert!(without.contains("kept on this telephone"), "{without}");
        assert!(back.contains("recorded once"), "{back}");
    }
    // The log, the two taps, and once for each signal that was lost.
    assert_eq!(head(shop), before + 4, "{did}");
    assert_eq!(did["label"]["heading"], "P-01");
    assert_eq!(did["newcomer"]["heading"], "P-01");
    let log = fs::read_to_string(&log).unwrap();
    assert!(log.contains("a device is paired"), "{log}");
    for secret in [
        &letters,
        &letters.replace('-', ""),
        &second.replace('-', ""),
    ] {
        assert!(
            !log.contains(secret.as_str()),
            "the log has {secret}: {log}"
        );
    }
}

/// Where views are: every address in the page's list of routes that is asked with GET.
fn views() -> BTreeSet<String> {
    let routes = fs::read_to_string(root().join("server/page/lib.rs")).unwrap();
    let routes = routes.split(".route(").skip(1);
    let asked = routes.filter(|route| route.contains("get("));
    let paths = asked.map(|route| route.split('"').nth(1).unwrap().to_owned());
    paths
        .filter(|path| !NO_VIEWS.contains(&path.as_str()))
        .collect()
}

/// Sources: WCAG 2.2, as axe-core reads it, and 2.5.5, 1.4.4 and 1.4.10 measured; how much longer words get, W3C,
/// "Text size in translation".
#[test]
fn every_view_can_be_read_hit_and_enlarged_in_both_themes() {
    let Some(script) = driven_by("page/looks.js") else {
        return;
    };
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    // So that there is an order to look at.
    done(Shop::Solo(&book), &["reorder", "--place"]);
    let fettled = Fettled::serve_tls(&book);
    let port = fettled.address().rsplit_once(':').unwrap().1;
    let (address, _) = code(&book, "phone-a", "keep", &format!("{HOST}:{port}"));
    let pieces = ["P-01", "B-01", "T-01", "M-01", "BP-02", "S-01", "TL-01"];
    let others = ["/pair", "/no-such", "/check", "/recorded?seq=1&seq=2"].map(str::to_owned);
    let paths: Vec<String> = others
        .into_iter()
        .chain(pieces.map(|tag| format!("/t/{tag}")))
        .collect();
    let found = told(
        script,
        &json!({
            "host": HOST,
            "code": address,
            "paths": paths,
            "wrong": [["/weigh", [["gross.B-01", "x"], ["request_id", "1"]]], ["/wash", []]],
            "shots": std::env::var("FETTLEBOOK_SHOTS").ok(),
        }),
    );
    let seen: Vec<&str> = found["views"]
        .as_array()
        .unwrap()
        .iter()
        .map(|view| view.as_str().unwrap())
        .collect();
    for view in views() {
        let start = view.split('{').next().unwrap();
        let is_it = |seen: &&str| {
            let path = seen.split('?').next().unwrap();
            if view.contains('{') {
                path.starts_with(start)
            } else {
                path == view
            }
        };
        assert!(seen.iter().any(is_it), "no link leads to {view}: {seen:?}");
    }
    let faults = found["faults"].as_array().unwrap();
    let faults: Vec<&str> = faults.iter().map(|fault| fault.as_str().unwrap()).collect();
    assert!(
        faults.is_empty(),
        "{} faults:\n{}",
        faults.len(),
        faults.join("\n")
    );
    eprintln!("{} views, no fault", seen.len());
}
