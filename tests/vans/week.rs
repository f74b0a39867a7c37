//! A week of two vans without signal: what each was shown is what the book says of it.
//!
//! Goal: of every log that a van keeps, booked or not, and of every job that it takes, the book has the very
//! pieces that the van was shown, and of what came the very tags, whatever the bench does meanwhile; each deed is
//! there once, the levels are those of the readings; and what the week contradicts is told to the van that told
//! it when it comes back. Method: a real `fettled`, a bench and two vans that are real `fettle` processes. The
//! vans are cut off, take and log twenty jobs each, weigh, count, receive and log cars that nobody booked, and
//! note what they were shown; the bench receives, moves, bins, washes, moves jobs to other days and logs. Then
//! the vans join, and the journal is read from its files.

use std::collections::BTreeMap;
use std::path::Path;
use std::time::SystemTime;

use serde_json::Value;
use tempfile::TempDir;

use crate::audit::{Levels, entries, faults, reported};
use crate::deeds::{GLOVES, OWN};
use crate::hub::Hub;
use crate::link::Link;
use crate::van::{Van, fettle, left, must};

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

/// What the entry of an answer used, or what came with it, as the person was shown it.
fn shown(answer: &Value) -> Vec<(String, String)> {
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let deeds = answer["entry"]["deeds"].as_array().unwrap();
    let used = deeds.iter().filter(|deed| {
        let kind = deed["kind"].as_str().unwrap();
        ["_USED", "_TAKEN_ALONG", "_RECEIVED"]
            .iter()
            .any(|end| kind.ends_with(end))
    });
    let mut used: Vec<_> = used
        .map(|deed| (text(&deed["subject"]), text(&deed["step"])))
        .collect();
    used.sort();
    used
}

/// What an entry used or brought, a tag and a step each, and its flags.
type Used = (Vec<(String, String)>, Vec<String>);

/// What the book says of the entries of a van, by their notes: what was used or came, and the flags.
fn recorded(book: &Path, van: &str) -> BTreeMap<String, Used> {
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let mut recorded = BTreeMap::new();
    for entry in entries(book).iter().filter(|entry| entry["by"] == van) {
        let deeds = entry["deeds"].as_array().unwrap();
        let of_kit = deeds.iter().filter(|deed| {
            let did = deed["did"].as_str().unwrap();
            did.ends_with("_used") || did == "taken_along" || did == "received"
        });
        let mut of_kit: Vec<_> = of_kit
            .map(|deed| (text(&deed["tag"]), text(&deed["step"])))
            .collect();
        of_kit.sort();
        let flags = entry["flags"].as_array().into_iter().flatten();
        let flags: Vec<String> = flags.map(|flag| text(&flag["text"])).collect();
        let before = recorded.insert(text(&entry["note"]), (of_kit, flags));
        assert!(
            before.is_none() || entry["note"].is_null(),
            "twice: {entry}"
        );
    }
    recorded
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

/// What a van tells beside its jobs, one thing in each turn.
fn beside(van: &Van, turn: usize) -> Vec<String> {
    let typed = match turn % 5 {
        0 => format!("weigh|{}={}g", van.own.bottle, 480 - 9 * turn),
        1 => format!("receive|fine-foam-150|--count|{}", 1 + turn % 2),
        2 => format!("count|{GLOVES}|--left|{} pairs", 900 - 8 * turn),
        3 => "log|--class|city|--routine|finish-only".to_owned(),
        _ => format!("wash|{}", van.own.pad),
    };
    typed.split('|').map(str::to_owned).collect()
}

/// Does something without signal, and notes what was shown of it.
fn keep(van: &mut Van, typed: &[&str], note: &str, seen: &mut Pieces) {
    let typed: Vec<&str> = typed.iter().copied().chain(["--note", note]).collect();
    let answer = asked(van.home(), &typed);
    let seq = answer["entry"]["seq"].as_str().unwrap_or("0");
    assert_eq!(seq, "0", "{note} was kept");
    seen.insert(note.to_owned(), shown(&answer));
    van.did.push(note.to_owned());
}

#[test]
fn what_a_van_was_shown_is_what_the_book_says_of_it() {
    let mut week = Week::begin();
    week.book();
    for van in &week.vans {
        assert!(van.sync());
        van.link.cut();
    }
    let mut seen = [Pieces::new(), Pieces::new()];
    for turn in 0..JOBS {
        for (van, seen) in week.vans.iter_mut().zip(&mut seen) {
            let (job, name) = (job(van.name, turn), van.name);
            if turn % 4 == 0 {
                let taken = ["take", &job, "--despite", "no signal"];
                keep(
                    van,
                    &taken,
                    &format!("{name} {turn:02} a {job} taken"),
                    seen,
                );
            }
            keep(
                van,
                &["log", &job],
                &format!("{name} {turn:02} b {job} done"),
                seen,
            );
            let more = beside(van, turn);
            let more: Vec<&str> = more.iter().map(String::as_str).collect();
            keep(van, &more, &format!("{name} {turn:02} c {}", more[0]), seen);
        }
        week.meanwhile(turn);
    }
    let (mut logs, mut pieces, mut flagged) = (0, 0, 0);
    for (van, seen) in week.vans.iter().zip(&seen) {
        van.link.join();
        let output = fettle(van.home(), &["shop", "sync"]);
        must(&output);
        let told = one_line(&String::from_utf8(output.stdout).unwrap());
        let recorded = recorded(&week.hub.book(), van.name);
        for (note, shown) in seen {
            let (of_kit, flags) = recorded
                .get(note)
                .unwrap_or_else(|| panic!("{note} is lost"));
            assert_eq!(of_kit, shown, "{note}");
            if note.ends_with("done") {
                assert!(shown.len() > 4, "{note}: {shown:?}");
                logs += 1;
            }
            pieces += shown.len();
            for flag in flags {
                let flag = one_line(flag);
                assert!(
                    told.contains(&flag),
                    "'{flag}' of {note} was not told to {}:\n{told}",
                    van.name
                );
                flagged += 1;
            }
        }
        let found = reported(&week.hub.book(), &[van.name]);
        assert_eq!(faults(van.name, &van.did, &found), [""; 0]);
    }
    let levels = Levels::read(&week.hub.book());
    assert_eq!(levels.tags_given_twice(), [""; 0]);
    for tag in [OWN[0].bottle, OWN[1].bottle, GLOVES] {
        assert_eq!(left(week.bench.path(), tag), levels.of(tag), "{tag}");
    }
    let walked_in = levels.walked_in();
    println!(
        "{logs} logs of booked jobs, {walked_in} cars that nobody booked, {pieces} pieces as shown, \
         {flagged} contradictions, each told to its van"
    );
    assert_eq!((logs, walked_in), (2 * JOBS, 2 * JOBS / 5));
    assert!(flagged > 10, "{flagged} contradictions are few");
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
