//! `fettle page`: the page at the bench from one's own machine, with the book open to other commands meanwhile.

use std::fs;
use std::io::Read as _;
use std::path::Path;
use std::process::{Child, ChildStdout, Command, Stdio};

use serde_json::Value;

use crate::binaries::{Shop, done, fettle, json, kept_demo, state_folder};

/// A page that is open; killed when dropped.
struct Open {
    child: Child,
    said: ChildStdout,
    /// What it printed first.
    document: Value,
}

impl Open {
    /// Opens the page of a book on a free port of this machine, with further options.
    fn page(book: &Path, more: &[&str]) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_fettle"))
            .arg("--book")
            .arg(book)
            .args(["--json", "page", "--listen", "127.0.0.1:0"])
            .args(more)
            .env("XDG_STATE_HOME", state_folder())
            .env("XDG_DATA_HOME", state_folder())
            .env_remove("FETTLE_SHOP")
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut said = child.stdout.take().unwrap();
        let mut documents = serde_json::Deserializer::from_reader(&mut said).into_iter();
        let document: Value = documents.next().unwrap().unwrap();
        drop(documents);
        Self {
            child,
            said,
            document,
        }
    }

    /// The code, as the address that its picture holds and in its long form.
    fn code(&self, form: &str) -> String {
        let code = &self.document["code"];
        code[form]
            .as_str()
            .unwrap_or_else(|| panic!("{}", self.document))
            .to_owned()
    }

    /// Ends it as Ctrl-C does, and gives all that it said.
    fn interrupt(mut self) -> String {
        let pid = self.child.id().to_string();
        Command::new("kill").args(["-INT", &pid]).status().unwrap();
        let mut talk = String::new();
        self.child
            .stderr
            .take()
            .unwrap()
            .read_to_string(&mut talk)
            .unwrap();
        self.said.read_to_string(&mut talk).unwrap();
        let ended = self.child.wait().unwrap();
        assert!(ended.success(), "{ended}: {talk}");
        talk
    }

    /// Ends it as a power cut would.
    fn kill(mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}

impl Drop for Open {
    fn drop(&mut self) {
        // It may have ended already; then there is nothing to kill.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn refused(shop: Shop<'_>, args: &[&str]) -> (i32, String) {
    let output = fettle(shop, args);
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    (output.status.code().unwrap(), said)
}

/// A device that is paired by a code, in a folder of its own.
fn paired(folder: &Path, code: &str) {
    done(Shop::Paired(folder), &["shop", "pair", code]);
}

#[test]
fn a_telephone_and_other_commands_share_a_book_whose_page_is_open() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let own = Shop::Solo(&book);
    let sheet = folder.path().join("sheet.html");
    let open = Open::page(&book, &["--paper", sheet.to_str().unwrap()]);
    crate::schemas::fits("page", &open.document);
    let address = open.document["address"].as_str().unwrap().to_owned();
    assert!(address.starts_with("https://127.0.0.1:"), "{address}");
    assert_eq!(
        (&open.document["name"], &open.document["role"]),
        (&"phone".into(), &"keep".into())
    );
    let sheet = fs::read_to_string(sheet).unwrap().replace("&#x2f;", "/");
    assert!(
        sheet.contains(&format!("{address}authority.crt")),
        "{sheet}"
    );
    let phone = tempfile::tempdir().unwrap();
    paired(phone.path(), &open.code("typedCode"));
    let phone = Shop::Paired(phone.path());
    done(phone, &["wash", "P-01"]);
    let life = json(own, &["kit", "show", "P-01"]);
    assert_eq!(life["entries"][0]["by"], "phone", "{life}");
    done(own, &["undo", "--yes"]);
    done(own, &["wash", "P-02"]);
    assert!(done(phone, &["kit", "show", "P-02"]).contains("drying"));
    let devices = json(own, &["shop", "devices"]);
    assert_eq!(devices["devices"].as_array().unwrap().len(), 1, "{devices}");
    let (code, said) = refused(own, &["page", "--listen", "127.0.0.1:0"]);
    assert!(code == 5 && said.contains("open already"), "{code}: {said}");
    done(own, &["shop", "devices", "--revoke", "phone"]);
    let (code, said) = refused(phone, &["--now", "wash", "P-03"]);
    assert!(
        code != 0 && said.contains("phone was revoked"),
        "{code}: {said}"
    );
    let talk = open.interrupt();
    assert!(talk.contains("The page is closed."), "{talk}");
    assert!(!book.join("access/own.sock").exists());
    done(own, &["wash", "P-04"]);
    let (code, said) = refused(own, &["shop", "devices"]);
    assert!(
        code == 2 && said.contains("fettle page --phone"),
        "{code}: {said}"
    );
}

#[test]
fn a_page_that_was_killed_leaves_the_book_to_the_next_and_what_is_paired_needs_no_code() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let open = Open::page(&book, &["--name", "van-a", "--role", "work"]);
    let phone = tempfile::tempdir().unwrap();
    paired(phone.path(), &open.code("code"));
    open.kill();
    assert!(book.join("access/own.sock").exists());
    done(Shop::Solo(&book), &["wash", "P-01"]);
    let open = Open::page(&book, &["--name", "van-a"]);
    assert_eq!(open.document["code"], Value::Null, "{}", open.document);
    let talk = open.interrupt();
    assert!(talk.contains("closed"), "{talk}");
    let again = Open::page(&book, &["--name", "van-a", "--again"]);
    assert!(again.code("typedCode").contains('/'));
    again.interrupt();
}

/// A certificate of one's own: here that of another book, whose fingerprint the code then has.
#[test]
fn a_certificate_of_ones_own_is_shown_and_a_wrong_one_opens_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let other = folder.path().join("other");
    fs::create_dir(&other).unwrap();
    done(Shop::Solo(&other), &["start", "--kit", "big", "--yes"]);
    let theirs = Open::page(&other, &[]);
    let fingerprint = theirs.code("fingerprint");
    theirs.interrupt();
    let access = other.join("access");
    let chain = folder.path().join("chain.pem");
    let parts =
        ["leaf.pem", "authority.pem"].map(|name| fs::read_to_string(access.join(name)).unwrap());
    fs::write(&chain, parts.concat()).unwrap();
    let (chain, key) = (
        chain.display().to_string(),
        access.join("leaf.key").display().to_string(),
    );
    let open = Open::page(&book, &["--certificate", &chain, "--key", &key]);
    assert_eq!(open.code("fingerprint"), fingerprint);
    open.interrupt();
    let wrong = access.join("authority.key").display().to_string();
    let words = [
        "page",
        "--listen",
        "127.0.0.1:0",
        "--certificate",
        &chain,
        "--key",
        &wrong,
    ];
    let (code, said) = refused(Shop::Solo(&book), &words);
    assert!(
        code == 1 && said.contains("does not belong"),
        "{code}: {said}"
    );
    done(Shop::Solo(&book), &["wash", "P-01"]);
}
