//! A week of two vans without signal: what each was shown for a job is what the book says of it.
//!
//! Goal: of every log that a van keeps, and of every job that it takes, the book has the very pieces that the
//! van was shown, whatever the bench does meanwhile; and what that contradicts is told to the van when it
//! comes back. Method: a real `fettled`, a bench and two vans that are real `fettle` processes. The vans are
//! cut off, take and log twenty jobs each, and note what they were shown; the bench receives, moves, bins,
//! washes, moves jobs to other days and logs. Then the vans join, and the journal is read from its files.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::time::SystemTime;

use serde_json::Value;
use tempfile::TempDir;

use crate::deeds::OWN;
use crate::hub::Hub;
use crate::link::Link;
use crate::van::{Van, fettle, must};

/// Jobs of each van.
const JOBS: usize = 20;
/// Routines in turn; between them they use every sort of kit.
const ROUTINES: [&str; 3] = ["two-step", "finish-only", "spot-correction"];
/// Cars in turn.
const CARS: [&str; 2] = ["city-car-red", "medium-saloon-silver"];

/// Pieces by the note of their entry: each with its step.
type Pieces = BTreeMap<String, Vec<(String, String)>>;

/// Runs a command of a device, which must be taken in; gives its one document.
fn asked(home: &Path, args: &[&str]) -> Value {
    let typed: Vec<&str> = ["--json"].iter().chain(args).copied().collect();
    let output = fettle(home, &typed);
    must(&output);
    serde_json::from_slice(&output.stdout).unwrap()
}

/// What the entry of an answer used, as the person was shown it.
fn shown(answer: &Value) -> Vec<(String, String)> {
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let deeds = answer["entry"]["deeds"].as_array().unwrap();
    let used = deeds.iter().filter(|deed| {
        let kind = deed["kind"].as_str().unwrap();
        kind.ends_with("_USED") || kind.ends_with("TAKEN_ALONG")
    });
    let mut used: Vec<_> = used
        .map(|deed| (text(&deed["subject"]), text(&deed["step"])))
        .collect();
    used.sort();
    used
}

/// What the book says was used, by the note of each entry, and how many flags there are.
fn recorded(book: &Path) -> (Pieces, BTreeMap<String, Vec<String>>) {
    let (mut pieces, mut flags) = (Pieces::new(), BTreeMap::new());
    let mut files: Vec<_> = fs::read_dir(book.join("journal"))
        .unwrap()
        .map(|file| file.unwrap().path())
        .collect();
    files.sort();
    for file in files {
        let text = fs::read(file).unwrap();
        let lines = text.split(|&byte| byte == b'\n');
        for line in lines.filter(|line| line.first() == Some(&b'{')) {
            let line: Value = serde_json::from_slice(line).unwrap();
            let entry = &line["entry"];
            let note = entry["note"].as_str().unwrap_or_default().to_owned();
            let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
            let deeds = entry["deeds"].as_array().unwrap();
            let used = deeds.iter().filter(|deed| {
                let did = deed["did"].as_str().unwrap();
                did.ends_with("_used") || did == "taken_along"
            });
            let mut used: Vec<_> = used
                .map(|deed| (text(&deed["tag"]), text(&deed["step"])))
                .collect();
            used.sort();
            let told = entry["flags"].as_array().into_iter().flatten();
            let told: Vec<String> = told.map(|flag| text(&flag["text"])).collect();
            flags.insert(note.clone(), told);
            pieces.insert(note, used);
        }
    }
    (pieces, flags)
}

/// The shop, its bench and its vans.
struct Week {
    hub: Hub,
    bench: TempDir,
    vans: [Van; 2],
}

impl Week {
    fn begin() -> Self {
        let hub = Hub::open();
        let bench = tempfile::tempdir().unwrap();
        let code = hub.code("bench", "own", hub.address);
        must(&fettle(bench.path(), &["shop", "pair", &code]));
        let van = |name, own| {
            let link = Link::to(hub.address);
            let code = hub.code(name, "work", link.address());
            let van = Van::new(name, own, link);
            van.pair(&code);
            van
        };
        let vans = [van("van-a", &OWN[0]), van("van-b", &OWN[1])];
        let week = Self { hub, bench, vans };
        week.fit_out("van-b");
        week
    }

    /// Gives a van the small kit that the other one has: what a van carries goes to no other.
    fn fit_out(&self, van: &str) {
        for (make, count) in [
            ("cordless-75", "1"),
            ("spindle-30", "1"),
            ("plate-75-m8", "1"),
            ("plate-20-m6", "1"),
            ("coarse-foam-80", "2"),
            ("fine-foam-80", "2"),
            ("pencil-foam-30", "4"),
        ] {
            self.bench(&["receive", make, "--count", count, "--place", van]);
        }
    }

    /// Books the jobs of both vans.
    fn book(&self) {
        for at in 0..JOBS {
            for van in &self.vans {
                let job = job(van.name, at);
                let day = format!("{} 08:00", day(1 + at));
                let (car, routine) = (CARS[at % CARS.len()], ROUTINES[at % ROUTINES.len()]);
                self.bench(&[
                    "job",
                    "add",
                    &job,
                    "--car",
                    car,
                    "--routine",
                    routine,
                    "--start",
                    &day,
                    "--place",
                    van.name,
                ]);
            }
        }
    }

    fn bench(&self, typed: &[&str]) {
        must(&fettle(self.bench.path(), typed));
    }

    /// What the bench does while the vans are away, one thing in each turn.
    fn meanwhile(&self, turn: usize) {
        let pad = format!("P-{:02}", turn + 1);
        let place = self.vans[turn % 2].name;
        match turn % 6 {
            0 => self.bench(&["receive", "coarse-foam-150", "--count", "2"]),
            1 => self.bench(&["bin", &pad, "--because", "torn"]),
            2 => self.bench(&["move", &pad, "--to", place]),
            3 => self.bench(&["receive", "fine-polish-500ml", "--count", "1"]),
            4 => {
                let later = format!("{} 09:00", day(30 + turn));
                self.bench(&["job", "edit", &job(place, turn), "--start", &later]);
            }
            _ => {
                let step =
                    "machine=orbital-150, pad=fine-foam-150, liquid=fine-polish-500ml, press=light";
                self.bench(&["log", "--loose", step, "--sections", "2", "--pad", "P-11"]);
            }
        }
    }
}

fn job(van: &str, at: usize) -> String {
    format!("{van}-{at:02}")
}

/// So many days from today.
#[allow(
    clippy::disallowed_methods,
    reason = "real devices tell the time by the clock of this machine"
)]
fn day(from_now: usize) -> String {
    let since = SystemTime::now().duration_since(SystemTime::UNIX_EPOCH);
    let then_s = since.unwrap().as_secs() + 86_400 * u64::try_from(from_now).unwrap();
    let then = jiff::Timestamp::from_second(i64::try_from(then_s).unwrap()).unwrap();
    jiff::tz::Offset::UTC.to_datetime(then).date().to_string()
}

#[test]
fn what_a_van_was_shown_is_what_the_book_says_of_it() {
    let week = Week::begin();
    week.book();
    for van in &week.vans {
        assert!(van.sync());
        van.link.cut();
    }
    let mut seen = Pieces::new();
    let mut taken = 0;
    for turn in 0..JOBS {
        for van in &week.vans {
            let job = job(van.name, turn);
            if turn % 4 == 0 {
                asked(van.home(), &["take", &job, "--despite", "no signal"]);
                taken += 1;
            }
            let note = format!("{job} done");
            let answer = asked(van.home(), &["log", &job, "--note", &note]);
            assert_eq!(
                answer["entry"]["seq"].as_str().unwrap_or("0"),
                "0",
                "it was kept"
            );
            seen.insert(note, shown(&answer));
        }
        week.meanwhile(turn);
    }
    let mut told = String::new();
    for van in &week.vans {
        van.link.join();
        let output = fettle(van.home(), &["shop", "sync"]);
        must(&output);
        told.push_str(&String::from_utf8(output.stdout).unwrap());
    }
    let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
    let (recorded, flags) = recorded(&week.hub.book());
    let (mut logs, mut pieces, mut flagged) = (0, 0, 0);
    for (note, shown) in &seen {
        assert_eq!(recorded.get(note), Some(shown), "{note}");
        assert!(shown.len() > 4, "{note}: {shown:?}");
        logs += 1;
        pieces += shown.len();
        for flag in &flags[note] {
            let flag = flag.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(
                told.contains(&flag),
                "'{flag}' of {note} was told to no van:\n{told}"
            );
            flagged += 1;
        }
    }
    println!(
        "{logs} logs, {pieces} pieces as shown, {taken} jobs taken, {flagged} contradictions, each told"
    );
    assert_eq!(logs, 2 * JOBS);
    assert!(flagged > 10, "{flagged} contradictions are few");
}
