//! Devices and the real `fettled`: it stays shut off this machine until somebody could come in, and
//! a code is made beside it with the rights to the folder alone.

use std::io::{BufRead as _, BufReader, Read as _};
use std::os::unix::fs::PermissionsExt as _;
use std::path::Path;
use std::process::{Child, Command, Output, Stdio};

use fettlebook_server::access::CodeText;

use crate::binaries::{Fettled, Shop, done, fettle, json};
use crate::clients;
use crate::paired::{Device, authority, code, secret};

/// A folder that no service of these tests may be asked for by the environment of whoever runs them.
fn fettled(args: &[&str], book: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fettled"));
    for name in [
        "BOOK",
        "LISTEN",
        "TLS",
        "CERTIFICATE",
        "KEY",
        "LOG",
        "REACHED_AT",
    ] {
        command.env_remove(format!("FETTLED_{name}"));
    }
    command.env("TZ", "UTC").args(args).arg("--book").arg(book);
    command
}

pub(crate) fn ended(args: &[&str], book: &Path) -> Output {
    fettled(args, book).stdin(Stdio::null()).output().unwrap()
}

fn talk(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// A `fettled` that runs until the test ends, with the first two lines that it said.
pub(crate) struct Running {
    child: Child,
    lines: [String; 2],
}

impl Running {
    pub(crate) fn start(args: &[&str], book: &Path) -> Self {
        let mut command = fettled(args, book);
        command.args(["--log", "warn"]).stdout(Stdio::piped());
        let mut child = command.spawn().unwrap();
        let mut said = BufReader::new(child.stdout.take().unwrap());
        let lines = [(); 2].map(|()| {
            let mut line = String::new();
            said.read_line(&mut line).unwrap();
            line.trim_end().to_owned()
        });
        Self { child, lines }
    }

    fn address(&self) -> &str {
        let address = self.lines[0].strip_prefix("fettled listens on https://");
        address.unwrap_or_else(|| panic!("{:?}", self.lines))
    }

    pub(crate) fn stop(mut self) {
        let pid = self.child.id().to_string();
        Command::new("kill").args(["-TERM", &pid]).status().unwrap();
        assert!(self.child.wait().unwrap().success());
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        // It may have ended already; then there is nothing to kill.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

pub(crate) fn code_of(output: &Output) -> CodeText {
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let line = text.lines().find(|line| line.starts_with("code "));
    let code = line.and_then(|line| line.split_whitespace().last());
    let code = code.unwrap_or_else(|| panic!("no code: {text}\n{}", talk(output)));
    code.parse().unwrap()
}

#[test]
fn off_this_machine_it_does_not_start_before_a_device_is_paired() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book");
    let refused = ended(&["--listen", "0.0.0.0:0"], &book);
    assert_eq!(refused.status.code(), Some(1));
    let said = talk(&refused);
    for word in [
        "--tls",
        "fettled pair",
        "fettle shop pair CODE",
        "0.0.0.0:0",
    ] {
        assert!(said.contains(word), "{word}: {said}");
    }
    assert!(refused.stdout.is_empty());
    assert!(!book.exists(), "nothing was begun");
}

/// A list of devices with one on it, which was revoked or not.
fn devices(revoked: &str) -> String {
    let hash = "0".repeat(64);
    format!(
        r#"{{"format":1,"devices":[{{"id":"01980000-0000-7000-8000-000000000001","name":"bench",
        "role":"own","secret":"{hash}","paired_at":"2026-06-03T18:00:00Z","invited_by":"local"{revoked}}}]}}"#
    )
}

#[test]
fn off_this_machine_it_starts_for_a_device_that_is_paired_and_not_revoked() {
    let folder = tempfile::tempdir().unwrap();
    Running::start(&["--tls", "--listen", "127.0.0.1:0"], folder.path()).stop();
    let list = folder.path().join("access/devices.json");
    let revoked = r#","revoked_at":"2026-06-04T08:00:00Z","revoked_by":"local""#;
    std::fs::write(&list, devices(revoked)).unwrap();
    let refused = ended(&["--listen", "0.0.0.0:0"], folder.path());
    assert_eq!(refused.status.code(), Some(1), "{}", talk(&refused));
    std::fs::write(&list, devices("")).unwrap();
    let running = Running::start(&["--listen", "0.0.0.0:0"], folder.path());
    let (_, port) = running.address().rsplit_once(':').unwrap();
    let made = ended(
        &["pair", "--name", "van-a", "--role", "work"],
        folder.path(),
    );
    let reached = code_of(&made).address;
    let (host, reached_port) = reached.rsplit_once(':').unwrap();
    assert_eq!(reached_port, port);
    assert!(
        host != "0.0.0.0" && host.parse::<std::net::Ipv4Addr>().is_ok(),
        "{host}"
    );
}

#[test]
fn a_code_is_made_beside_a_service_that_runs() {
    let folder = tempfile::tempdir().unwrap();
    let running = Running::start(&["--tls", "--listen", "127.0.0.1:0"], folder.path());
    let made = ended(
        &["pair", "--name", "van-a", "--role", "work"],
        folder.path(),
    );
    assert_eq!(made.status.code(), Some(0), "{}", talk(&made));
    let code = code_of(&made);
    assert_eq!(code.address, running.address());
    assert_eq!(
        running.lines[1],
        format!("fingerprint {}", code.fingerprint)
    );
    let text = String::from_utf8(made.stdout).unwrap();
    assert!(text.contains("fettle shop pair 127.0.0.1:"), "{text}");
    assert!(text.contains('█'), "a picture for cameras");
    let there = [
        "pair",
        "--name",
        "van-b",
        "--role",
        "look",
        "--at",
        "bench.example:443",
    ];
    let made = ended(&there, folder.path());
    assert_eq!(code_of(&made).address, "bench.example:443");
    running.stop();
    let again = Running::start(&["--tls", "--listen", "127.0.0.1:0"], folder.path());
    assert_eq!(again.lines[1], format!("fingerprint {}", code.fingerprint));
}

#[test]
fn what_makes_no_sense_makes_no_code() {
    let folder = tempfile::tempdir().unwrap();
    let (book, none) = (folder.path().join("book"), folder.path().join("none"));
    Running::start(&["--tls", "--listen", "127.0.0.1:0"], &book).stop();
    for (args, code, word) in [
        (["pair", "--name", "Van A", "--role", "work"], 2, "Van A"),
        (["pair", "--name", "van-a", "--role", "boss"], 2, "boss"),
        (
            ["pair", "--name", "local", "--role", "own"],
            2,
            "another name",
        ),
    ] {
        let refused = ended(&args, &book);
        assert_eq!(refused.status.code(), Some(code), "{args:?}");
        assert!(talk(&refused).contains(word), "{}", talk(&refused));
        assert!(refused.stdout.is_empty());
    }
    let refused = ended(&["pair", "--name", "van-a", "--role", "own"], &none);
    assert_eq!(refused.status.code(), Some(4), "{}", talk(&refused));
    assert!(!none.exists());
    std::fs::write(book.join("access/devices.json"), "{").unwrap();
    let refused = ended(&["pair", "--name", "van-a", "--role", "own"], &book);
    assert_eq!(refused.status.code(), Some(8), "{}", talk(&refused));
    assert!(
        talk(&refused).contains("devices.json"),
        "{}",
        talk(&refused)
    );
}

/// The service's user could put a link there before the system's administrator comes.
#[cfg(unix)]
#[test]
fn a_link_in_the_place_of_the_access_folder_makes_no_code() {
    let folder = tempfile::tempdir().unwrap();
    let (book, there) = (folder.path().join("book"), folder.path().join("there"));
    Running::start(&["--tls", "--listen", "127.0.0.1:0"], &book).stop();
    std::fs::remove_dir_all(book.join("access")).unwrap();
    std::fs::create_dir(&there).unwrap();
    std::os::unix::fs::symlink(&there, book.join("access")).unwrap();
    let refused = ended(&["pair", "--name", "van-a", "--role", "own"], &book);
    assert_eq!(refused.status.code(), Some(1), "{}", talk(&refused));
    assert!(
        talk(&refused).contains("access is a link"),
        "{}",
        talk(&refused)
    );
    assert!(refused.stdout.is_empty());
    assert_eq!(std::fs::read_dir(&there).unwrap().count(), 0);
}

/// `fettled pair` refuses the name with the same code; another test holds it to that.
#[test]
fn an_owner_is_told_what_cannot_be_done_to_a_device_and_not_that_he_is_shut_out() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path();
    let _running = Running::start(&["--tls", "--listen", "127.0.0.1:0"], book);
    let owner = Device::pair(book, "bench", "own");
    let _lost = Device::pair(book, "van-a", "work");
    done(owner.shop(), &["shop", "devices", "--revoke", "van-a"]);
    for (args, code, words) in [
        (
            ["shop", "devices", "--role", "van-a=keep"].as_slice(),
            4,
            "van-a was revoked and does not come back",
        ),
        (
            &["shop", "pair", "--name", "local", "--role", "own"],
            2,
            "whoever sits at the machine",
        ),
    ] {
        let refused = fettle(owner.shop(), args);
        assert_eq!(refused.status.code(), Some(code), "{}", talk(&refused));
        assert!(talk(&refused).contains(words), "{}", talk(&refused));
    }
}

/// A key is a device of its own: what the service says to its token shows that it knows it.
#[test]
fn a_script_is_given_a_certificate_and_a_token_over_nothing_that_is_there() {
    let folder = tempfile::tempdir().unwrap();
    let (book, to) = (folder.path().join("book"), folder.path().join("keys"));
    std::fs::create_dir_all(&to).unwrap();
    let fettled = Fettled::serve_tls(&book);
    let owner = Device::pair(&book, "bench", "own");
    let into = to.to_str().unwrap();
    let export = |name: &'static str| ["shop", "export-key", "--for", name, "--to", into];
    let told = json(owner.shop(), &export("reader"));
    assert_eq!(
        (&told["name"], &told["role"]),
        (&"reader".into(), &"look".into())
    );
    let held = |name: &str| std::fs::read_to_string(to.join(name)).unwrap();
    let (pem, token) = (held("reader.pem"), held("reader.token"));
    assert_eq!(pem, std::fs::read_to_string(authority(&book)).unwrap());
    for name in ["reader.pem", "reader.token"] {
        let mode = std::fs::metadata(to.join(name))
            .unwrap()
            .permissions()
            .mode();
        assert_eq!(mode & 0o777, 0o600, "{name}");
    }
    let look = format!("look={}", token.trim());
    let options = [
        "--ca",
        told["certificate"].as_str().unwrap(),
        "--token",
        &owner.token,
        "--as",
        &look,
    ];
    clients::start(fettled.address(), "ROLE_TOO_LOW", &options).finish();

    std::fs::write(to.join("other.token"), "mine").unwrap();
    for name in ["reader", "other"] {
        let refused = fettle(owner.shop(), &export(name));
        assert_eq!(refused.status.code(), Some(2), "{}", talk(&refused));
        assert!(
            talk(&refused).contains("is there already"),
            "{}",
            talk(&refused)
        );
    }
    let unreachable = fettle(owner.shop(), &export("bench"));
    assert_eq!(unreachable.status.code(), Some(5), "{}", talk(&unreachable));
    let mut files: Vec<_> = std::fs::read_dir(&to)
        .unwrap()
        .map(|file| file.unwrap().file_name())
        .collect();
    files.sort();
    assert_eq!(files, ["other.token", "reader.pem", "reader.token"]);
    assert_eq!(
        (held("reader.token"), held("other.token")),
        (token, "mine".to_owned())
    );
    let devices = json(owner.shop(), &["shop", "devices"]);
    let names: Vec<_> = devices["devices"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| &one["name"])
        .collect();
    assert_eq!(names, ["bench", "reader"]);
    assert!(done(owner.shop(), &["shop", "codes"]).contains("No code is open"));
    fettled.stop();
}

#[test]
fn a_code_that_nobody_used_is_seen_and_withdrawn() {
    let folder = tempfile::tempdir().unwrap();
    let fettled = Fettled::serve_tls(folder.path());
    let owner = Device::pair(folder.path(), "bench", "own");
    let late = code(folder.path(), "van-a", "work");
    let listed = done(owner.shop(), &["shop", "codes"]);
    assert!(
        listed.contains("van-a") && listed.contains("work"),
        "{listed}"
    );
    assert!(!listed.contains(secret(&late)), "{listed}");
    let ended = done(owner.shop(), &["shop", "codes", "--withdraw", "van-a"]);
    assert!(ended.contains("van-a lets nobody in"), "{ended}");
    let home = tempfile::tempdir().unwrap();
    let refused = fettle(Shop::Paired(home.path()), &["shop", "pair", &late]);
    assert_eq!(refused.status.code(), Some(7), "{}", talk(&refused));
    let none = fettle(owner.shop(), &["shop", "codes", "--withdraw", "van-a"]);
    assert_eq!(none.status.code(), Some(4), "{}", talk(&none));
    fettled.stop();
}

/// Nobody sits at a terminal here, so nobody can be asked.
#[test]
fn an_owner_who_lowers_their_own_device_has_to_say_so_and_the_last_one_may_not() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path();
    let _running = Running::start(&["--tls", "--listen", "127.0.0.1:0"], book);
    let owner = Device::pair(book, "bench", "own");
    let lower = ["shop", "devices", "--role", "bench=keep"];
    let revoke = ["shop", "devices", "--revoke", "bench"];
    let said = |args: &[&'static str]| [args, &["--this-device"]].concat();
    let refused = |args: &[&str], code, words: &str| {
        let refused = fettle(owner.shop(), args);
        assert_eq!(refused.status.code(), Some(code), "{}", talk(&refused));
        assert!(talk(&refused).contains(words), "{}", talk(&refused));
    };
    refused(&lower, 2, "--this-device");
    refused(&revoke, 2, "bench is this very device");
    refused(&said(&lower), 5, "is the only one that owns the shop");
    refused(&said(&revoke), 5, "'fettled pair --name NAME --role own'");
    let _second = Device::pair(book, "desk", "own");
    refused(&lower, 2, "has the role keep then");
    done(owner.shop(), &said(&lower));
    refused(&said(&revoke), 7, "has the role keep, and that needs own");
}

#[test]
fn a_certificate_that_no_device_would_believe_is_refused_before_anything_listens() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("book");
    let named = |name: &str| folder.path().join(name).display().to_string();
    std::fs::write(named("c.pem"), "no certificate").unwrap();
    let (certificate, key) = (named("c.pem"), named("k.pem"));
    let args = ["--certificate", &certificate, "--key", &key];
    let refused = ended(&args, &book);
    assert_eq!(refused.status.code(), Some(1));
    assert!(
        talk(&refused).contains("c.pem cannot be read"),
        "{}",
        talk(&refused)
    );
    assert!(!book.exists(), "nothing was begun");
    let alone = ended(&["--certificate", &certificate], &book);
    assert_eq!(alone.status.code(), Some(2));
}

#[test]
fn an_own_certificate_is_what_devices_are_told_to_hold_on_to() {
    let folder = tempfile::tempdir().unwrap();
    let (first, second) = (folder.path().join("first"), folder.path().join("second"));
    Running::start(&["--tls", "--listen", "127.0.0.1:0"], &first).stop();
    let file = |name: &str| first.join("access").join(name);
    let mut chain = String::new();
    for name in ["leaf.pem", "authority.pem"] {
        let file = std::fs::File::open(file(name));
        file.unwrap().read_to_string(&mut chain).unwrap();
    }
    let path = folder.path().join("chain.pem");
    std::fs::write(&path, chain).unwrap();
    let (chain, key) = (
        path.display().to_string(),
        file("leaf.key").display().to_string(),
    );
    let args = [
        "--listen",
        "127.0.0.1:0",
        "--certificate",
        &chain,
        "--key",
        &key,
    ];
    let running = Running::start(&args, &second);
    let made = ended(&["pair", "--name", "van-a", "--role", "work"], &second);
    let code = code_of(&made);
    assert_eq!(
        running.lines[1],
        format!("fingerprint {}", code.fingerprint)
    );
    let own = ended(&["pair", "--name", "van-a", "--role", "work"], &first);
    assert_eq!(code.fingerprint, code_of(&own).fingerprint);
    assert!(!second.join("access/authority.pem").exists());
}
