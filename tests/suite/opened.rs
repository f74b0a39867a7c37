//! A shop that is opened by one command, and its first devices: real binaries, each machine with a home of
//! its own.
//!
//! The service is started by the client and outlives it; the test ends it by the process that it was told.

use std::path::Path;
use std::process::{Command, Output, Stdio};

use serde_json::Value;
use tempfile::TempDir;

use crate::ports::free;

/// A machine with nothing on it.
pub(crate) struct Machine {
    home: TempDir,
}

impl Machine {
    pub(crate) fn new() -> Self {
        Self {
            home: tempfile::tempdir().unwrap(),
        }
    }

    pub(crate) fn home(&self) -> &Path {
        self.home.path()
    }

    /// Runs the client there.
    pub(crate) fn run(&self, args: &[&str]) -> Output {
        let mut command = Command::new(env!("CARGO_BIN_EXE_fettle"));
        for name in ["BOOK", "AT", "SHOP"] {
            command.env_remove(format!("FETTLE_{name}"));
        }
        for name in ["BOOK", "LISTEN", "TLS", "CERTIFICATE", "KEY", "LOG"] {
            command.env_remove(format!("FETTLED_{name}"));
        }
        command
            .env("XDG_STATE_HOME", self.home().join("state"))
            .env("XDG_DATA_HOME", self.home().join("data"))
            .env("XDG_CONFIG_HOME", self.home().join("config"))
            .env("TZ", "UTC")
            .env("NO_COLOR", "1")
            .args(args)
            .stdin(Stdio::null())
            .output()
            .unwrap()
    }

    /// Runs what must succeed; gives all that it said.
    pub(crate) fn done(&self, args: &[&str]) -> String {
        let output = self.run(args);
        let said = said(&output);
        assert!(output.status.success(), "fettle {args:?}: {said}");
        said
    }

    pub(crate) fn json(&self, args: &[&str]) -> Value {
        let output = self.run(&[&["--json"], args].concat());
        assert!(
            output.status.success(),
            "fettle {args:?}: {}",
            said(&output)
        );
        serde_json::from_slice(&output.stdout).unwrap()
    }
}

pub(crate) fn said(output: &Output) -> String {
    let (out, talk) = (&output.stdout, &output.stderr);
    format!(
        "{}{}",
        String::from_utf8_lossy(out),
        String::from_utf8_lossy(talk)
    )
}

/// A service that a command started; it ends with the test.
pub(crate) struct Service(u64);

impl Service {
    pub(crate) fn of(opened: &Value) -> Self {
        Self(opened["process"].as_u64().unwrap())
    }

    pub(crate) fn stop(&self) {
        let process = self.0.to_string();
        Command::new("kill")
            .args(["-TERM", &process])
            .status()
            .unwrap();
        let runs = || {
            let stat = std::fs::read_to_string(format!("/proc/{process}/stat"));
            stat.is_ok_and(|stat| !stat.contains(") Z "))
        };
        for _ in 0..500 {
            if !runs() {
                return;
            }
            std::thread::sleep(std::time::Duration::from_millis(20));
        }
        panic!("fettled does not end");
    }
}

impl Drop for Service {
    fn drop(&mut self) {
        // It may have ended already; then there is nothing to kill.
        let _ = Command::new("kill")
            .args(["-KILL", &self.0.to_string()])
            .stderr(Stdio::null())
            .status();
    }
}

/// What a person types for a command, with the longest address that a home network gives.
fn typed(args: &[&str], listen: &str) -> usize {
    let usual = args.join(" ").replace(&format!(" --listen {listen}"), "");
    format!("fettle {}", usual.replace(listen, "192.168.100.100")).len()
}

/// A bench and two vans, from nothing.
#[test]
fn a_bench_and_two_vans_are_paired_in_three_commands_and_few_letters() {
    let (bench, vans) = (Machine::new(), [Machine::new(), Machine::new()]);
    let listen = free();
    bench.done(&["car", "add", "red-city", "--class", "city"]);
    let open = ["shop", "open", "van-a", "van-b", "--listen", &listen];
    let opened = bench.json(&open);
    crate::schemas::fits("shop open", &opened);
    let service = Service::of(&opened);
    let (mut commands, mut letters) = (1, typed(&open, &listen));
    for (van, name) in vans.iter().zip(["van-a", "van-b"]) {
        let code = opened["codes"][commands - 1]["typedCode"].as_str().unwrap();
        let pair = ["shop", "pair", code];
        let said = van.done(&pair);
        assert!(said.contains(&format!("this device is {name}")), "{said}");
        assert!(said.contains("A copy of the book is here"), "{said}");
        commands += 1;
        letters += typed(&pair, &listen);
    }
    eprintln!("{commands} commands, {letters} letters");
    assert!(
        commands <= 5 && letters <= 120,
        "{commands} commands, {letters} letters"
    );
    let devices = bench.json(&["shop", "devices"]);
    let names: Vec<&str> = devices["devices"]
        .as_array()
        .unwrap()
        .iter()
        .map(|device| device["name"].as_str().unwrap())
        .collect();
    assert_eq!(names, ["bench", "van-a", "van-b"]);
    // Run again it finds all there.
    let again = bench.json(&["shop", "open", "--listen", &listen]);
    assert_eq!(again["process"], Value::Null);
    vans[0].done(&["kit", "list"]);
    service.stop();
    let without = vans[0].done(&["kit", "list"]);
    assert!(
        without.contains("fettled is not running here · copy of "),
        "{without}"
    );
    assert!(!without.contains("refused"), "{without}");
    let at_length = vans[0].done(&["kit", "list", "-v"]);
    let words: Vec<&str> = at_length.split_whitespace().collect();
    assert!(
        words.join(" ").contains("connection refused"),
        "{at_length}"
    );
}

/// Whoever sits at the machine with the book is not kept from it because its service is down.
#[test]
fn at_the_bench_the_book_is_opened_while_its_service_does_not_run() {
    let bench = Machine::new();
    let listen = free();
    bench.done(&["car", "add", "red-city", "--class", "city"]);
    let opened = bench.json(&["shop", "open", "--listen", &listen]);
    let service = Service::of(&opened);
    let by = |entries: &Value| entries["entries"].as_array().unwrap().len();
    assert_eq!(by(&bench.json(&["book", "entries"])), 1);
    service.stop();
    let said = bench.done(&["car", "add", "white-van", "--class", "van"]);
    assert!(
        said.contains("fettled is not running here · the book itself is open"),
        "{said}"
    );
    let refused = bench.run(&["shop", "pair", "--name", "van-a"]);
    assert_eq!(refused.status.code(), Some(6), "{}", self::said(&refused));
    assert!(self::said(&refused).contains("'fettle shop open' starts it"));
    let again = bench.json(&["shop", "open", "--listen", &listen]);
    let _service = Service::of(&again);
    assert_eq!(by(&bench.json(&["book", "entries"])), 2);
    let left = bench.done(&["shop", "leave"]);
    assert!(left.contains("bench has left the shop"), "{left}");
}

#[test]
fn the_address_of_a_shop_is_changed_where_it_answers_and_not_to_another() {
    let (bench, other, van) = (Machine::new(), Machine::new(), Machine::new());
    let (listen, elsewhere) = (free(), free());
    let opened = bench.json(&["shop", "open", "van-a", "--listen", &listen]);
    let service = Service::of(&opened);
    let strange = Service::of(&other.json(&["shop", "open", "--listen", &elsewhere]));
    van.done(&[
        "shop",
        "pair",
        opened["codes"][0]["typedCode"].as_str().unwrap(),
    ]);
    let refused = van.run(&["shop", "address", &elsewhere]);
    assert_eq!(refused.status.code(), Some(5), "{}", said(&refused));
    assert!(
        said(&refused).contains("Nothing was changed."),
        "{}",
        said(&refused)
    );
    // Nor while the shop itself is out of reach.
    service.stop();
    let refused = van.run(&["shop", "address", &elsewhere]);
    assert_eq!(refused.status.code(), Some(5), "{}", said(&refused));
    let told = said(&refused);
    assert!(told.contains("the shop does not answer"), "{told}");
    let service = Service::of(&bench.json(&["shop", "open", "--listen", &listen]));
    van.done(&["--now", "kit", "list"]);
    let nowhere = free();
    let refused = van.run(&["shop", "address", &nowhere]);
    assert_eq!(refused.status.code(), Some(5), "{}", said(&refused));
    assert!(said(&refused).contains("as before"), "{}", said(&refused));
    service.stop();
    strange.stop();
    let moved = free();
    let _service = Service::of(&bench.json(&["shop", "open", "--listen", &moved]));
    let changed = van.json(&["shop", "address", &moved]);
    assert_eq!(changed["reached"], true);
    van.done(&["--now", "kit", "list"]);
}

#[test]
fn an_address_that_leads_nowhere_makes_no_code() {
    let bench = Machine::new();
    let listen = free();
    let opened = bench.json(&["shop", "open", "--listen", &listen]);
    let _service = Service::of(&opened);
    for at in ["no-such-host.invalid:7420", "a b", "host:0"] {
        let refused = bench.run(&["shop", "pair", "--name", "van-a", "--at", at]);
        assert_eq!(refused.status.code(), Some(2), "{at}: {}", said(&refused));
        assert!(said(&refused).contains("--at"), "{}", said(&refused));
    }
    let made = bench.json(&["shop", "pair", "--name", "van-a", "--at", "127.0.0.1:17420"]);
    let code = made["typedCode"].as_str().unwrap();
    assert!(code.starts_with("127.0.0.1:17420/"), "{code}");
    let taken = bench.run(&["shop", "pair", "--name", "bench"]);
    assert_eq!(taken.status.code(), Some(5), "{}", said(&taken));
    assert!(said(&taken).contains("--again"), "{}", said(&taken));
}

pub(crate) fn typed_code(opened: &Value, at: usize) -> &str {
    opened["codes"][at]["typedCode"].as_str().unwrap()
}

/// Whether any file of a machine's copy of the book has this text in it.
fn copy_has(machine: &Machine, text: &str) -> bool {
    let journal = machine.home().join("data/fettlebook/shop/copy/journal");
    let files = std::fs::read_dir(journal).into_iter().flatten();
    files
        .map(|file| std::fs::read(file.unwrap().path()).unwrap())
        .any(|held| String::from_utf8_lossy(&held).contains(text))
}

/// What a device may not see any more goes from it as soon as it hears of that; prices above all.
#[test]
fn the_copy_of_a_device_that_may_less_or_nothing_any_more_goes() {
    let (bench, van) = (Machine::new(), Machine::new());
    let listen = free();
    bench.done(&["car", "add", "red-city", "--class", "city"]);
    bench.done(&[
        "supplier",
        "add",
        "tern-quay",
        "--name",
        "Tern Quay Supplies",
        "--lead",
        "3 days",
        "--freight",
        "6.90 EUR",
    ]);
    let opened = bench.json(&["shop", "open", "van-a=keep", "--listen", &listen]);
    let service = Service::of(&opened);
    van.done(&["shop", "pair", typed_code(&opened, 0)]);
    assert!(copy_has(&van, "6.90"));
    bench.done(&["shop", "devices", "--role", "van-a=work"]);
    let looked = van.done(&["kit", "list"]);
    assert!(looked.contains("has the role work now"), "{looked}");
    assert!(!copy_has(&van, "6.90"));
    van.done(&["shop", "sync"]);
    assert!(copy_has(&van, "red-city") && !copy_has(&van, "6.90"));
    bench.done(&["shop", "devices", "--revoke", "van-a"]);
    let refused = van.run(&["kit", "list"]);
    assert_eq!(refused.status.code(), Some(7), "{}", said(&refused));
    assert!(
        said(&refused).contains("shut this device out"),
        "{}",
        said(&refused)
    );
    assert!(!van.home().join("data/fettlebook/shop/copy").exists());
    service.stop();
    let without = van.run(&["kit", "list"]);
    assert_eq!(without.status.code(), Some(6));
    assert!(
        said(&without).contains("was shut out"),
        "{}",
        said(&without)
    );
}

/// Nobody is left who could let anybody in.
#[test]
fn no_command_leaves_a_shop_without_an_owner() {
    let (bench, desk) = (Machine::new(), Machine::new());
    let listen = free();
    let opened = bench.json(&["shop", "open", "desk=own", "van-a", "--listen", &listen]);
    let _service = Service::of(&opened);
    desk.done(&["shop", "pair", typed_code(&opened, 0)]);
    bench.done(&["shop", "devices", "--role", "bench=keep", "--this-device"]);
    for args in [
        ["shop", "leave"].as_slice(),
        &["shop", "pair", typed_code(&opened, 1), "--again"],
        &["shop", "devices", "--role", "desk=work", "--this-device"],
        &["shop", "devices", "--revoke", "desk", "--this-device"],
        &[
            "shop", "pair", "--name", "desk", "--role", "work", "--again",
        ],
    ] {
        let refused = desk.run(args);
        assert_eq!(
            refused.status.code(),
            Some(5),
            "{args:?}: {}",
            said(&refused)
        );
        assert!(said(&refused).contains("only"), "{}", said(&refused));
    }
    let listed = desk.json(&["shop", "devices"]);
    assert_eq!(listed["devices"].as_array().unwrap().len(), 2, "{listed}");
}

/// Puts four pads of one make into the book of a machine.
pub(crate) fn buy_pads(machine: &Machine) {
    let pad = [
        "make",
        "add",
        "pad",
        "coarse-foam-150",
        "--name",
        "coarse foam 150",
        "--material",
        "thin-foam",
        "--grade",
        "coarse",
        "--face",
        "150 mm",
    ];
    machine.done(&pad);
    machine.done(&["receive", "coarse-foam-150", "--count", "4"]);
}

/// The bench is lost with what was recorded since the backup; the vans have theirs still.
#[test]
fn a_restored_book_gets_back_what_its_vans_told_it_in_four_commands() {
    let (old, vans) = (Machine::new(), [Machine::new(), Machine::new()]);
    let listen = free();
    buy_pads(&old);
    let opened = old.json(&["shop", "open", "van-a=keep", "van-b", "--listen", &listen]);
    let service = Service::of(&opened);
    for (at, van) in vans.iter().enumerate() {
        van.done(&["shop", "pair", typed_code(&opened, at)]);
    }
    let stick = tempfile::tempdir().unwrap();
    let backup = stick.path().join("backup").display().to_string();
    old.done(&["book", "backup", "--to", &backup]);
    vans[0].done(&["move", "P-01", "--to", "van-a", "--new-place"]);
    vans[1].done(&["move", "P-02", "--to", "van-b", "--new-place"]);
    // What is set up is sent and not kept: it can only be named.
    vans[0].done(&["car", "add", "white-van", "--class", "van"]);
    service.stop();
    vans[0].done(&["move", "P-03", "--to", "van-a"]);
    // Another machine, from the backup alone.
    let bench = Machine::new();
    let book = bench
        .home()
        .join("data/fettlebook/book")
        .display()
        .to_string();
    bench.done(&["book", "restore", "--from", &backup, "--to", &book]);
    let opened = bench.json(&["shop", "open", "van-a=keep", "van-b", "--listen", &listen]);
    let _service = Service::of(&opened);
    let paired = vans[0].done(&["shop", "pair", typed_code(&opened, 0)]);
    vans[1].done(&["shop", "pair", typed_code(&opened, 1)]);
    let synced = vans[0].done(&["shop", "sync"]);
    assert!(
        synced.contains("has lost 1 deed of this device"),
        "{synced}"
    );
    let told = paired.split_whitespace().collect::<Vec<_>>().join(" ");
    let unkept = "has lost what this device told it and did not keep: ";
    let (_, lost) = told.split_once(unkept).unwrap_or_else(|| panic!("{told}"));
    let (lost, _) = lost.split_once(" Tell it again.").unwrap();
    assert!(
        lost.contains("white-van") && !lost.contains("P-01"),
        "{lost}"
    );
    let again = vans[0].done(&["shop", "sync"]);
    assert!(!again.contains("lost"), "{again}");
    let looked = vans[1].done(&["kit", "list"]);
    assert!(
        looked.contains("has lost 1 deed of this device"),
        "{looked}"
    );
    let places: Vec<String> = bench.json(&["kit", "list"])["pieces"]
        .as_array()
        .unwrap()
        .iter()
        .map(|piece| piece["place"].as_str().unwrap().to_owned())
        .collect();
    assert_eq!(places, ["van-a", "van-b", "van-a", "bench"]);
    let moves = bench.json(&["book", "entries", "--by", "van-a"]);
    assert_eq!(moves["entries"].as_array().unwrap().len(), 2, "each once");
}
