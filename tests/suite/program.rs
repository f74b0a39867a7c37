//! What the two programs say of themselves, and what they leave out when they are to be quiet.

use std::path::Path;
use std::process::{Command, Stdio};

use serde_json::Value;

use crate::binaries::{Shop, fettle, kept_demo};
use crate::python::root;

/// The version of all packages. Source: `Cargo.toml`, which cargo hands on.
const VERSION: &str = env!("CARGO_PKG_VERSION");

fn said(program: &str, words: &[&str]) -> String {
    let output = Command::new(program).args(words).output().unwrap();
    assert!(
        output.status.success() && output.stderr.is_empty(),
        "{words:?}"
    );
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn both_programs_tell_their_version_commit_and_formats() {
    let entries = fettlebook_model::Format::NEWEST;
    for (program, name) in [
        (env!("CARGO_BIN_EXE_fettle"), "fettle"),
        (env!("CARGO_BIN_EXE_fettled"), "fettled"),
    ] {
        let told = said(program, &["--version"]);
        assert_eq!(told, said(program, &["-V"]));
        let lines: Vec<&str> = told.lines().collect();
        assert_eq!(lines[0], format!("{name} {VERSION}"));
        assert!(lines[1].starts_with("commit "), "{told}");
        for line in [
            format!("entries   formats 1 to {entries}, read and written"),
            "books     format 1, read and written".to_owned(),
            "backups   format 1, read and written".to_owned(),
            "contract  fettlebook.v1".to_owned(),
        ] {
            assert!(lines.contains(&line.as_str()), "{line}\n{told}");
        }
    }
    let told = said(env!("CARGO_BIN_EXE_fettle"), &["--version", "--json"]);
    let told: Value = serde_json::from_str(&told).unwrap();
    assert_eq!(told["version"], VERSION);
    assert_eq!(
        told["formats"][0]["newest"].to_string(),
        entries.to_string()
    );
}

/// Builds the build script and runs it as cargo does for a release, on the sources in a folder.
fn commit_of(script: &Path, sources: &Path, given: &str) -> String {
    let output = Command::new(script)
        .env("CARGO_MANIFEST_DIR", sources)
        .env("PROFILE", "release")
        .env("FETTLEBOOK_COMMIT", given)
        .output()
        .unwrap();
    assert!(output.status.success());
    let text = String::from_utf8(output.stdout).unwrap();
    let told = text
        .lines()
        .find_map(|line| line.strip_prefix("cargo::rustc-env=FETTLEBOOK_COMMIT="));
    told.unwrap().to_owned()
}

fn git(folder: &Path, words: &[&str]) {
    let settings = ["-c", "user.name=nobody", "-c", "user.email=nobody@invalid"];
    let done = Command::new("git")
        .arg("-C")
        .arg(folder)
        .args(settings)
        .args(words)
        .stdout(Stdio::null())
        .status()
        .unwrap();
    assert!(done.success(), "{words:?}");
}

/// The commit that is told is that of the checkout; a tarball says that it is not known, and so does one that lies
/// in a checkout of something else.
#[test]
fn the_commit_is_that_of_the_checkout_and_unknown_without_one() {
    let place = tempfile::tempdir().unwrap();
    let script = place.path().join("commit");
    let rustc = std::env::var("RUSTC").unwrap_or_else(|_| "rustc".to_owned());
    let built = Command::new(rustc)
        .args(["--edition", "2024", "-o"])
        .arg(&script)
        .arg(root().join("server/commit.rs"))
        .status()
        .unwrap();
    assert!(built.success());
    let tarball = place.path().join("tarball");
    std::fs::create_dir(&tarball).unwrap();
    assert_eq!(commit_of(&script, &tarball, ""), "unknown");
    assert_eq!(commit_of(&script, &tarball, "v1"), "v1");
    if !Command::new("git")
        .arg("--version")
        .output()
        .is_ok_and(|output| output.status.success())
    {
        eprintln!("skipped: git is not on this machine");
        return;
    }
    let checkout = place.path().join("checkout");
    std::fs::create_dir(&checkout).unwrap();
    std::fs::write(checkout.join("file"), "first").unwrap();
    git(&checkout, &["init", "--quiet"]);
    git(&checkout, &["add", "file"]);
    git(&checkout, &["commit", "--quiet", "-m", "first"]);
    let head = Command::new("git")
        .arg("-C")
        .arg(&checkout)
        .args(["rev-parse", "HEAD"])
        .output()
        .unwrap();
    let head = String::from_utf8(head.stdout).unwrap();
    assert_eq!(commit_of(&script, &checkout, ""), head[..12]);
    std::fs::write(checkout.join("file"), "second").unwrap();
    assert_eq!(
        commit_of(&script, &checkout, ""),
        format!("{}+changed", &head[..12])
    );
    let inside = checkout.join("unpacked");
    std::fs::create_dir(&inside).unwrap();
    assert_eq!(commit_of(&script, &inside, ""), "unknown");
}

/// With `-q` stdout has the same answer, and stderr errors, what is odd and nothing else.
#[test]
fn quiet_leaves_out_what_is_not_the_answer_and_nothing_of_the_answer() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let shop = Shop::Solo(&book);
    let talk = |words: &[&str]| {
        let output = fettle(shop, words);
        let text = |bytes| String::from_utf8(bytes).unwrap();
        (text(output.stdout), text(output.stderr))
    };
    let wash = ["wash", "P-01..P-02"];
    let (_, told) = talk(&wash);
    assert!(told.contains("Understood: P-01, P-02."), "{told}");
    let quiet = ["-q", "wash", "P-03..P-04"];
    let (answer, told) = talk(&quiet);
    assert_eq!(told, "");
    assert!(answer.contains("P-04"), "{answer}");
    let listed = talk(&["kit", "list"]);
    assert_eq!(talk(&["kit", "list", "--quiet"]), (listed.0, String::new()));
    // An error is told all the same.
    let (answer, told) = talk(&["-q", "wash", "P-99"]);
    assert_eq!(answer, "");
    assert!(told.contains("P-99"), "{told}");
    let both = fettle(shop, &["-q", "-v", "kit", "list"]);
    assert_eq!(both.status.code(), Some(2));
}
