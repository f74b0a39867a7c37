//! What the office sees of books in an engine: views that say what the service itself answers, by roles that see
//! no more than they should.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use serde_json::Value;

use crate::binaries::{Fettled, Shop, done, fettle, json, kept_demo};
use crate::in_engine::{Place, fettled, refused, tables};
use crate::python::succeeded;

/// Longest time until the views follow what was recorded: a round every three seconds, on a machine that may
/// have much else to do.
const FOLLOW_WAIT_MAX: Duration = Duration::from_secs(60);

/// An invented shop with jobs, prices and an order, in an engine.
fn demo_in(place: &Place) -> Fettled {
    demo_in_by(place, &[])
}

/// The same, served with further options.
pub(crate) fn demo_in_by(place: &Place, options: &[&str]) -> Fettled {
    let book = kept_demo(place.folder.path(), &[]);
    let solo = Shop::Solo(&book);
    let order = [
        "order",
        "add",
        "millrace",
        "edgeless-towel-400g=1",
        "--placed",
    ];
    done(solo, &[&order[..], &["--done", "10 days ago"]].concat());
    done(
        solo,
        &["receive", "1", "fine-foam-150", "--cost", "18.90 EUR"],
    );
    done(solo, &["wash", "P-06", "--note", "ground in"]);
    done(solo, &["undo", "--yes"]);
    moved(place, &book);
    place.serve(options)
}

fn moved(place: &Place, book: &Path) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fettled"));
    command
        .env("FETTLED_TO_STORE", place.url("bench"))
        .arg("move");
    command
        .arg("--book")
        .arg(book)
        .arg("--node")
        .arg(place.path("node"));
    succeeded(&command.stdin(Stdio::null()).output().unwrap());
}

/// What a role reads.
fn read(place: &Place, role: &str, sql: &str) -> String {
    place.ask(&format!("SET ROLE {role}; {sql}"))
}

/// Waits until the views are as of the last entry, and says how long that took.
pub(crate) fn until_laid_out(place: &Place) -> Duration {
    let start = Instant::now();
    let current = "SELECT count(*) FROM fettle.book JOIN fettle.laid_out ON book = id
                   WHERE seq = head_seq AND deeds_until = head_seq AND head_seq > 0";
    while place.ask(current) == "0" {
        assert!(start.elapsed() < FOLLOW_WAIT_MAX, "the views do not follow");
        sleep(Duration::from_millis(50));
    }
    start.elapsed()
}

/// Rows of a list in the client's JSON, as a view shows some of their fields: `readiness:READINESS_` is a word
/// of the contract, `jobsLeft.low` lies within.
fn told(rows: &Value, fields: &[&str]) -> String {
    let cell = |row: &Value, name: &str| {
        let (path, before) = name.split_once(':').unwrap_or((name, ""));
        let found = path.split('.').fold(row, |row, part| &row[part]);
        let text = match found {
            Value::Null => String::new(),
            Value::String(text) => text.clone(),
            other => other.to_string(),
        };
        match (before, text.strip_prefix(before)) {
            ("", _) | (_, None) => text,
            (_, Some("UNSPECIFIED")) => String::new(),
            (_, Some(word)) => word.to_lowercase().replace('_', "-"),
        }
    };
    let line = |row: &Value| {
        let cells: Vec<String> = fields.iter().map(|name| cell(row, name)).collect();
        cells.join("|")
    };
    let rows = rows.as_array().expect("rows");
    assert!(!rows.is_empty(), "nothing to compare: {fields:?}");
    rows.iter().map(line).collect::<Vec<_>>().join("\n")
}

/// Source of every figure: what the client prints of the service's answer to the same question.
#[test]
fn the_views_say_what_the_service_answers() {
    let Some(place) = Place::new() else { return };
    let served = demo_in(&place);
    let at = Shop::At(&served.url);
    until_laid_out(&place);
    let office = |sql: &str| read(&place, "fettle_office", sql);
    let costs = |sql: &str| read(&place, "fettle_costs", sql);

    let kit = json(at, &["kit", "list"]);
    assert_eq!(
        office("SELECT tag, make, make_name, place, readiness FROM fettle.stock ORDER BY tag"),
        told(
            &kit["pieces"],
            &["tag", "make", "makeName", "place", "readiness:READINESS_"]
        )
    );
    let bottle = |piece: &&Value| piece["bottle"].is_object();
    let bottles: Vec<Value> = kit["pieces"]
        .as_array()
        .unwrap()
        .iter()
        .filter(bottle)
        .cloned()
        .collect();
    assert_eq!(
        office(
            "SELECT tag, (left_ml * 1000)::bigint, lot, jobs_left_count FROM fettle.stock
             WHERE left_ml IS NOT NULL ORDER BY tag"
        ),
        told(
            &bottles.into(),
            &["tag", "bottle.leftUl", "bottle.lot", "bottle.jobsLeftCount"]
        )
    );
    assert_eq!(
        costs("SELECT tag, landed_cost, currency_code FROM fettle.stock_cost"),
        {
            let priced = |piece: &&Value| piece["landedCost"].is_object();
            let priced: Vec<Value> = kit["pieces"]
                .as_array()
                .unwrap()
                .iter()
                .filter(priced)
                .cloned()
                .collect();
            told(
                &priced.into(),
                &["tag", "landedCost.amount", "landedCost.currencyCode"],
            )
        }
    );

    looks_at_wear(&place, at);
    let jobs = json(at, &["job", "list"]);
    assert_eq!(
        office("SELECT job, place, car, routine, state FROM fettle.jobs ORDER BY start_time, job"),
        told(
            &jobs["jobs"],
            &["job", "place", "car", "routine", "state:JOB_STATE_"]
        )
    );
    assert_eq!(
        office("SELECT order_id, supplier, state, due_date FROM fettle.orders"),
        told(
            &json(at, &["order", "list"])["orders"],
            &["order", "supplier", "state:ORDER_STATE_", "dueDate"]
        )
    );
    assert_eq!(
        costs("SELECT order_id, total_cost FROM fettle.order_cost"),
        told(
            &json(at, &["order", "list"])["orders"],
            &["order", "total.amount"]
        )
    );
    looks_at_jobs_and_shops(&place, at);
}

/// How worn the pieces are.
fn looks_at_wear(place: &Place, at: Shop<'_>) {
    let office = |sql: &str| read(place, "fettle_office", sql);
    let wear = json(at, &["wear", "--pieces"]);
    assert_eq!(
        office(
            "SELECT tag, sort, run_time_s, rated_run_time_s, wash_count, change_count, band
             FROM fettle.wear ORDER BY tag"
        ),
        told(
            &wear["pieces"],
            &[
                "tag",
                "sort:MAKE_SORT_",
                "runTimeS",
                "ratedRunTimeS",
                "washCount",
                "changeCount",
                "band:WEAR_BAND_"
            ]
        )
    );
    let close = |told: &str, shown: &str| match (told.parse::<f64>(), shown.parse::<f64>()) {
        (Ok(told), Ok(shown)) => (told - shown).abs() <= 1e-9 * shown.abs(),
        _ => told == shown,
    };
    let shown =
        office("SELECT damage, jobs_left_low, jobs_left_high FROM fettle.wear ORDER BY tag");
    let said = told(
        &wear["pieces"],
        &["damage", "jobsLeft.low", "jobsLeft.high"],
    );
    for (shown, said) in shown.split(['|', '\n']).zip(said.split(['|', '\n'])) {
        assert!(close(said, shown), "{said} is {shown}");
    }
}

/// The check and the costs of jobs, and the line of the shop.
fn looks_at_jobs_and_shops(place: &Place, at: Shop<'_>) {
    let booked = read(
        place,
        "fettle_office",
        "SELECT job FROM fettle.jobs WHERE state = 'booked' ORDER BY start_time",
    );
    let booked: Vec<&str> = booked.lines().collect();
    // It ends with another code where a job is at risk.
    let check = fettle(at, &[&["--json", "check"], &booked[..]].concat());
    let check: Value = serde_json::from_slice(&check.stdout).unwrap();
    let shown = read(
        place,
        "fettle_office",
        "SELECT job, verdict FROM fettle.jobs WHERE verdict IS NOT NULL ORDER BY start_time",
    );
    assert_eq!(shown, told(&check["checks"], &["job", "verdict:VERDICT_"]));
    let cost = json(at, &["job", "cost", "silver-saloon"]);
    assert_eq!(
        read(
            place,
            "fettle_costs",
            "SELECT low_cost, typical_cost, high_cost, actual_cost FROM fettle.job_cost
             WHERE job = 'silver-saloon'"
        ),
        told(
            &vec![cost["cost"].clone()].into(),
            &[
                "low.amount",
                "typical.amount",
                "high.amount",
                "actual.amount"
            ]
        )
    );
    let risky = |word: &str| shown.lines().filter(|line| line.ends_with(word)).count();
    let wear = json(at, &["wear", "--pieces"]);
    let worn = |word: &str| {
        wear["pieces"]
            .as_array()
            .unwrap()
            .iter()
            .filter(|piece| piece["band"] == word)
            .count()
    };
    let id = place.ask("SELECT id FROM fettle.book");
    let line = "SELECT shop, booked_job_count, watch_job_count, stop_job_count, late_order_count,
                tired_piece_count, spent_piece_count FROM fettle.shops";
    let rest = format!(
        "{}|{}|{}|1|{}|{}",
        booked.len(),
        risky("|watch"),
        risky("|stop"),
        worn("WEAR_BAND_TIRED"),
        worn("WEAR_BAND_SPENT")
    );
    assert_eq!(read(place, "fettle_office", line), format!("{id}|{rest}"));
    place
        .engine
        .run(&place.database, "UPDATE fettle.book SET name = 'north'");
    assert_eq!(read(place, "fettle_office", line), format!("north|{rest}"));
}

#[test]
fn the_register_has_every_deed_and_follows_without_holding_one_up() {
    let Some(place) = Place::new() else { return };
    let served = demo_in(&place);
    let at = Shop::At(&served.url);
    until_laid_out(&place);
    let sql = "SELECT entry, subject, deed, what_happened, job, step, place FROM fettle.register
               ORDER BY as_of_entry, entry, what_happened";
    let deeds = || {
        let entries = json(at, &["book", "entries"]);
        let mut lines = Vec::new();
        for entry in entries["entries"].as_array().unwrap() {
            let fields = ["subject", "kind:DEED_KIND_", "text", "job", "step", "place"];
            let seq = entry["seq"].as_str().unwrap();
            lines.extend(
                told(&entry["deeds"], &fields)
                    .lines()
                    .map(|deed| format!("{seq}|{deed}")),
            );
        }
        lines.sort();
        lines
    };
    let shown = || {
        let mut lines: Vec<String> = read(&place, "fettle_office", sql)
            .lines()
            .map(str::to_owned)
            .collect();
        lines.sort();
        lines
    };
    let priced = |line: &&String| line.contains("EUR");
    assert!(
        deeds().iter().any(|line| priced(&line)),
        "no price could be shown"
    );
    // A supplier's price list is told with its makes.
    let says_prices = |line: &String| line.contains("EUR") || line.contains("|supplier-set|");
    let plain = |lines: Vec<String>| {
        let plain = lines.into_iter().filter(|line| !says_prices(line));
        plain.collect::<Vec<_>>()
    };
    assert_eq!(shown().iter().filter(priced).count(), 0);
    let hidden = deeds().len() - plain(deeds()).len();
    assert!(shown().len() <= deeds().len());
    assert!(hidden > 0);
    let stand = shown();
    for line in plain(deeds()) {
        assert!(stand.contains(&line), "{line}");
    }
    let undone = "SELECT count(*) FROM fettle.register WHERE note = 'ground in' AND reversed_by_entry = entry + 1";
    assert_eq!(read(&place, "fettle_office", undone), "1");

    done(at, &["wash", "P-01"]);
    let took = until_laid_out(&place);
    println!("the views followed after {took:?}");
    let last = "SELECT subject, deed FROM fettle.register ORDER BY entry DESC LIMIT 1";
    assert_eq!(read(&place, "fettle_office", last), "P-01|washed");
    done(at, &["undo", "--yes"]);
    until_laid_out(&place);
    let undone = "SELECT count(*) FROM fettle.register WHERE subject = 'P-01' AND reversed_by_entry = as_of_entry";
    assert_eq!(read(&place, "fettle_office", undone), "1");

    let count = || read(&place, "fettle_office", "SELECT count(*) FROM fettle.stock");
    let before = count();
    done(at, &["receive", "1", "fine-foam-150"]);
    until_laid_out(&place);
    assert_ne!(count(), before);
    done(at, &["undo", "--yes"]);
    until_laid_out(&place);
    assert_eq!(count(), before);

    // Whoever keeps the office's tables from being written keeps no deed from being recorded.
    let held = place.engine.session(&place.database);
    drop(held.ask("BEGIN; LOCK TABLE fettle.answer, fettle.laid_out IN ACCESS EXCLUSIVE MODE"));
    // A round begins within three seconds, and would hold up what comes behind it for ten.
    done(at, &["wash", "P-01"]);
    sleep(Duration::from_secs(4));
    let start = Instant::now();
    done(at, &["undo", "--yes"]);
    let took = start.elapsed();
    assert!(took < Duration::from_secs(8), "a deed waited {took:?}");
    drop(held);
    until_laid_out(&place);

    // What was deposed lays out nothing more.
    let as_of = "SELECT seq, deeds_until FROM fettle.laid_out";
    let before = place.ask(as_of);
    place
        .engine
        .run(&place.database, "UPDATE fettle.book SET holder = 'another'");
    // Where it has found out by then, it does not record it either.
    drop(fettle(at, &["wash", "P-02"]));
    sleep(Duration::from_secs(7));
    assert_eq!(place.ask(as_of), before);
}

/// Sources: what a role may is asked of the engine itself.
#[test]
fn reports_see_no_prices_and_no_keys_and_write_nothing() {
    let Some(place) = Place::new() else { return };
    let served = demo_in(&place);
    until_laid_out(&place);
    served.stop();
    let may_not = |role: &str, sql: &str| {
        drop(place.ask(&format!(
            "SET ROLE {role};
             DO $$ BEGIN EXECUTE $q${sql}$q$; RAISE EXCEPTION 'it may';
             EXCEPTION WHEN insufficient_privilege THEN NULL; END $$;"
        )));
    };
    for sql in ["stock_cost", "job_cost", "order_cost", "entry"] {
        may_not("fettle_office", &format!("SELECT * FROM fettle.{sql}"));
        assert_ne!(
            read(
                &place,
                "fettle_costs",
                &format!("SELECT count(*) FROM fettle.{sql}")
            ),
            "0",
            "{sql}"
        );
    }
    for role in ["fettle_office", "fettle_costs"] {
        for sql in ["paper", "note", "answer", "laid_out", "answered"] {
            may_not(role, &format!("SELECT * FROM fettle.{sql}"));
        }
        for sql in [
            "DELETE FROM fettle.answer",
            "INSERT INTO fettle.laid_out (book) SELECT id FROM fettle.book",
            "UPDATE fettle.book SET name = 'x'",
        ] {
            may_not(role, sql);
        }
    }
    for list in ["register", "stock", "jobs", "wear", "orders", "shops"] {
        let rows = read(
            &place,
            "fettle_office",
            &format!("SELECT * FROM fettle.{list}"),
        );
        assert!(!rows.is_empty() && !rows.contains("EUR"), "{list}: {rows}");
    }
    let costs = read(
        &place,
        "fettle_costs",
        "SELECT currency_code FROM fettle.order_cost",
    );
    assert_eq!(costs, "EUR");
}

/// Takes back what later versions of the tables have, so that those of the first are there with a book in them.
const FIRST_VERSION: &str = "
DROP VIEW fettle.shops, fettle.order_cost, fettle.job_cost, fettle.stock_cost, fettle.orders, fettle.wear,
    fettle.jobs, fettle.stock, fettle.register, fettle.answered;
DROP TABLE fettle.answer, fettle.laid_out;
DROP FUNCTION fettle.word;
DROP TRIGGER keep_incarnation ON fettle.book; DROP FUNCTION fettle.keep_incarnation;
ALTER TABLE fettle.book DROP COLUMN moved, DROP COLUMN name;
ALTER TABLE fettle.paper DROP COLUMN of_book, DROP COLUMN written_at,
    ADD CONSTRAINT paper_book_fkey FOREIGN KEY (book) REFERENCES fettle.book (id);
DELETE FROM fettle.schema_version WHERE version > 1;";

#[test]
fn a_book_in_earlier_tables_is_served_once_they_are_brought_up() {
    let Some(place) = Place::new() else { return };
    let book: PathBuf = place.path("book");
    done(Shop::Solo(&book), &["start", "--kit", "big-small", "--yes"]);
    moved(&place, &book);
    place.engine.run(&place.database, FIRST_VERSION);
    let node = place.path("node");
    let said = refused(&fettled(
        &place.url("bench"),
        &["--node", node.to_str().unwrap()],
    ));
    assert!(
        said.contains("brings them up with: fettled tables --from 1 | psql DATABASE."),
        "{said}"
    );
    place.engine.run(&place.database, &tables(&["--from", "1"]));
    let served = place.serve(&[]);
    done(Shop::At(&served.url), &["wash", "P-01"]);
    until_laid_out(&place);
    assert_eq!(
        read(
            &place,
            "fettle_office",
            "SELECT wash_count FROM fettle.stock WHERE tag = 'P-01'"
        ),
        "1"
    );
}
