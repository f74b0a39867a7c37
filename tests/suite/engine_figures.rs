//! What a node tells of its engine: in the metrics, and to whoever asks for something while it is not ready.

use std::thread::{sleep, spawn};
use std::time::{Duration, Instant};

use crate::binaries::{Fettled, Shop, done, fettle, json};
use crate::clients;
use crate::in_engine::Place;
use crate::metrics::{body, page_figure, wait_for};
use crate::promtool::{checked, is_here};
use crate::python::{run_script, succeeded};
use crate::two_nodes::code;

/// Longest time until a node has noticed something of its engine, on a machine that has much else to do.
const NOTICED_MAX: Duration = Duration::from_secs(30);

/// A page of a node; none where the machine has no PostgreSQL.
pub(crate) fn page() -> Option<String> {
    let place = Place::new()?;
    let (_fettled, url) =
        Fettled::serve_from_measured(&place.url("bench"), &place.path("node"), &[]);
    Some(body(&url, ""))
}

/// Ends the sessions of whoever serves.
fn cut_off(place: &Place) {
    place.engine.run(
        "postgres",
        &format!(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity
             WHERE datname = '{}' AND usename = 'bench'",
            place.database
        ),
    );
}

/// Lets nobody in, or everybody again.
fn let_in(place: &Place, whether: bool) {
    let database = &place.database;
    let sql = format!("ALTER DATABASE {database} ALLOW_CONNECTIONS {whether}");
    place.engine.run("postgres", &sql);
}

/// Sources: `promtool check metrics`; the OpenMetrics parser of the Python client.
#[test]
fn what_a_node_tells_of_its_engine_is_what_became_of_it() {
    let Some(place) = Place::new() else { return };
    let (fettled, url) =
        Fettled::serve_from_measured(&place.url("bench"), &place.path("node"), &[]);
    let shop = Shop::At(&fettled.url);
    done(shop, &["start", "--kit", "big-small", "--yes"]);
    let figure = |name: &str| page_figure(&url, &format!("fettled_engine_{name}"));
    assert_eq!(figure("answers"), 1.0);
    assert!(figure("sessions_opened_total") >= 1.0);
    assert_eq!(figure("unknown_outcomes_total"), 0.0);
    assert_eq!(figure("settled_outcomes_total"), 0.0);
    let before = figure("questions_total");
    done(shop, &["wash", "P-01"]);
    assert!(figure("questions_total") > before);
    if is_here() {
        assert_eq!(checked(&["check", "metrics"], &body(&url, "")), "");
    }
    if let Some(output) = run_script("openmetrics.py", &["prometheus_client"], &[&url]) {
        let read = succeeded(&output);
        for family in ["questions counter", "answers gauge"] {
            assert!(read.contains(&format!("fettled_engine_{family}")), "{read}");
        }
    }

    // A group that waits in the engine when its session is ended: what became of it is found out.
    let opened = figure("sessions_opened_total");
    let held = place.engine.session(&place.database);
    drop(held.ask("BEGIN; LOCK TABLE fettle.entry IN SHARE MODE"));
    let at = fettled.url.clone();
    let washed = spawn(move || done(Shop::At(&at), &["wash", "P-02"]));
    let waits = "SELECT count(*) FROM pg_locks JOIN pg_stat_activity USING (pid)
                 WHERE NOT granted AND usename = 'bench' AND datname = current_database()";
    let start = Instant::now();
    while place.ask(waits) == "0" {
        assert!(start.elapsed() < NOTICED_MAX, "no group waits");
        sleep(Duration::from_millis(20));
    }
    cut_off(&place);
    drop(held);
    washed.join().unwrap();
    assert!(figure("unknown_outcomes_total") >= 1.0);
    assert!(figure("settled_outcomes_total") >= 1.0);
    assert!(figure("sessions_opened_total") > opened);
    let twice = "SELECT count(*) - count(DISTINCT request) FROM fettle.entry";
    assert_eq!(place.ask(twice), "0");

    let_in(&place, false);
    cut_off(&place);
    wait_for(&url, "fettled_engine_answers", 0);
    let_in(&place, true);
    wait_for(&url, "fettled_engine_answers", 1);
}

/// An engine in which the role may not write for a while, as one without room, or that stands by.
#[test]
fn an_engine_that_takes_nothing_is_no_full_disk_and_a_device_keeps_its_deeds() {
    let Some(place) = Place::new() else { return };
    let node = place.path("node");
    let fettled = place.serve(&["--tls"]);
    let home = tempfile::tempdir().unwrap();
    let van = Shop::Paired(home.path());
    done(van, &["shop", "pair", &code(&place, &node, "van-a", &[])]);
    done(van, &["start", "--kit", "big-small", "--yes"]);
    done(van, &["shop", "sync"]);
    let head = || place.ask("SELECT head_seq FROM fettle.book");
    let before = head();
    let may = |sql: &str| place.engine.run(&place.database, sql);
    may("REVOKE INSERT ON fettle.entry FROM fettle_service");

    // What is never kept is refused, with the reason and what helps.
    let refused = fettle(van, &["--json", "book", "set", "dot_ul=260"]);
    let said = String::from_utf8(refused.stdout).unwrap();
    let said: serde_json::Value = serde_json::from_str(&said).unwrap();
    assert_eq!(said["error"]["reason"], "ENGINE_UNREADY", "{said}");
    assert_eq!(refused.status.code(), Some(6), "{said}");
    let told = said["error"].to_string();
    assert!(told.contains("permission denied"), "{told}");
    assert!(told.contains("look at the engine"), "{told}");
    assert!(!told.contains("disk"), "{told}");

    let kept = fettle(van, &["wash", "P-01"]);
    let said = String::from_utf8(kept.stderr).unwrap();
    assert!(kept.status.success(), "{said}");
    assert!(
        said.contains("what keeps the shop's book does not answer · kept here · 1 waiting"),
        "{said}"
    );
    assert_eq!(head(), before);
    may("GRANT INSERT ON fettle.entry TO fettle_service");
    done(van, &["shop", "sync"]);
    assert_ne!(head(), before);
    let washed = json(van, &["book", "entries", "--about", "P-01"]);
    let washed = washed["entries"].as_array().unwrap().iter();
    let washed = washed.filter(|entry| entry["deeds"][0]["kind"] == "DEED_KIND_WASHED");
    assert_eq!(washed.count(), 1, "it counts once");
    fettled.stop();

    // The same through clients that we did not write.
    may("REVOKE INSERT ON fettle.entry FROM fettle_service");
    let fettled = place.serve(&[]);
    clients::all(fettled.address(), "ENGINE_UNREADY");
    may("GRANT INSERT ON fettle.entry TO fettle_service");
}
