//! `fettle shops`: each device sees the shop of its own book, and one of the office all that the engine keeps;
//! prices only by their role, and how old each line is.

use std::collections::BTreeSet;
use std::process::Command;

use serde_json::Value;
use tempfile::TempDir;

use crate::binaries::{Fettled, Shop, done, fettle, json, kept_demo};
use crate::in_engine::{Place, fettled, refused};
use crate::office::{demo_in_by, until_laid_out};
use crate::python::succeeded;
use crate::schemas;
use crate::two_nodes::code;

/// A device of the one book that is served.
struct Machine(TempDir);

impl Machine {
    fn paired(place: &Place, name: &str, options: &[&str]) -> Self {
        let home = tempfile::tempdir().unwrap();
        let code = code(place, &place.path("node"), name, options);
        done(Shop::Paired(home.path()), &["shop", "pair", &code]);
        Self(home)
    }

    fn shop(&self) -> Shop<'_> {
        Shop::Paired(self.0.path())
    }

    fn shops(&self) -> Value {
        let told = json(self.shop(), &["shops"]);
        schemas::fits("shops", &told);
        told
    }
}

fn lines(told: &Value) -> &[Value] {
    told["shops"].as_array().unwrap()
}

/// A figure of a line; the contract leaves out what is none.
fn figure(line: &Value, name: &str) -> i64 {
    match &line[name] {
        Value::Null => 0,
        told => told.as_str().unwrap().parse().unwrap(),
    }
}

/// So many books that are told of as the one that there is, but for these figures: each has `stop` jobs at risk as
/// its number says, and is as old as that in hours by the engine's clock. The clock of whoever laid it out is years
/// ahead.
fn further(place: &Place, count: usize) {
    let sql = format!(
        "INSERT INTO fettle.book (id, incarnation, name)
         SELECT id, id, 'shop-' || lpad(number::text, 3, '0')
         FROM generate_series(1, {count}) AS number,
             LATERAL (SELECT md5(number::text)::uuid AS id) AS made
         ON CONFLICT DO NOTHING;
         INSERT INTO fettle.answer (book, list, key, told)
         SELECT book.id, answer.list, answer.key, answer.told
             || CASE WHEN list = 'shop' THEN jsonb_build_object(
                 'stop_job_count', right(name, 3)::int,
                 'as_of_time', '2031-01-01T00:00:00Z') ELSE '{{}}' END
         FROM fettle.book, fettle.answer
         WHERE name LIKE 'shop-%' AND list IN ('shop', 'shop-cost')
             AND answer.book = (SELECT id FROM fettle.book WHERE head_seq > 0)
         ON CONFLICT DO NOTHING;
         INSERT INTO fettle.laid_out (book, seq, at)
         SELECT id, 1, now() - right(name, 3)::int * interval '1 hour' FROM fettle.book WHERE name LIKE 'shop-%'
         ON CONFLICT DO NOTHING;"
    );
    place.engine.run(&place.database, &sql);
}

/// How old a line is, in whole hours.
fn hours(told: &Value, line: &Value) -> i64 {
    let at = |time: &Value| time.as_str().unwrap().parse::<jiff::Timestamp>().unwrap();
    let age = at(&told["serviceTime"]).duration_since(at(&line["asOfTime"]));
    age.as_hours()
}

/// The figures of a line, by their names in the views too.
const COUNTED: [&str; 7] = [
    "bookedJobCount",
    "watchJobCount",
    "stopJobCount",
    "lateOrderCount",
    "tiredPieceCount",
    "spentPieceCount",
    "needsCountPieceCount",
];

#[test]
fn a_device_sees_its_own_shop_and_one_of_the_office_all_of_them_and_prices_only_by_its_role() {
    let Some(place) = Place::new() else { return };
    let served = demo_in_by(&place, &["--tls"]);
    until_laid_out(&place);
    let own = Machine::paired(&place, "bench", &[]);
    let office = Machine::paired(&place, "desk", &["--role", "keep", "--office"]);
    let looks = Machine::paired(&place, "wall", &["--role", "look", "--office"]);
    let works = Machine::paired(&place, "van-a", &["--role", "work"]);
    further(&place, 19);
    let id = place.ask("SELECT id FROM fettle.book WHERE head_seq > 0");

    // Without the mark one of twenty, whatever the role.
    let told = own.shops();
    assert_eq!(lines(&told).len(), 1, "{told}");
    assert_ne!(told["all"], true, "{told}");
    let line = lines(&told)[0].clone();
    assert_eq!(
        (line["bookId"].as_str(), &line["own"]),
        (Some(&*id), &true.into())
    );
    for name in ["doneCost", "bookedCost"] {
        assert_eq!(line[name]["currencyCode"], "EUR", "{line}");
    }
    assert_eq!(figure(&line, "lateOrderCount"), 1);
    is_what_the_views_count(&place, &line);
    let told = works.shops();
    assert_eq!(lines(&told).len(), 1);
    without_prices(&told);

    // With it all twenty: what somebody has to see to first.
    let told = office.shops();
    assert_eq!(
        (lines(&told).len(), &told["all"]),
        (20, &true.into()),
        "{told}"
    );
    assert_eq!(lines(&told)[0]["name"], "shop-019");
    assert_eq!(hours(&told, &lines(&told)[0]), 19, "{told}");
    let stops: Vec<i64> = lines(&told)
        .iter()
        .map(|line| figure(line, "stopJobCount"))
        .collect();
    assert!(stops.is_sorted_by(|one, next| one >= next), "{stops:?}");
    let mine = lines(&told)
        .iter()
        .find(|line| line["own"] == true)
        .unwrap();
    for name in COUNTED {
        assert_eq!(figure(mine, name), figure(&line, name), "{name}");
    }
    assert_eq!(mine["doneCost"], line["doneCost"]);
    assert_eq!(mine["bookedCost"], line["bookedCost"]);
    let told = looks.shops();
    assert_eq!(lines(&told).len(), 20);
    without_prices(&told);
    let said = fettle(office.shop(), &["shops"]);
    let said = [said.stdout, said.stderr].concat();
    let said = String::from_utf8(said).unwrap();
    assert!(said.contains("shop-019") && said.contains("19 h"), "{said}");
    assert!(
        said.contains("No service has kept up the line of shop-019"),
        "{said}"
    );

    the_mark_is_told_and_goes(&own, &office, &looks);

    // More than a page of them: each once.
    further(&place, 400);
    let told = looks.shops();
    let ids: BTreeSet<&str> = lines(&told)
        .iter()
        .map(|line| line["bookId"].as_str().unwrap())
        .collect();
    assert_eq!((ids.len(), lines(&told).len()), (401, 401));
    served.stop();
    falls_off_with_a_move(&place, &id);
}

/// It records no more than its role says, and whoever owns the shop sees who has the mark and takes it.
fn the_mark_is_told_and_goes(own: &Machine, office: &Machine, looks: &Machine) {
    let tried = fettle(looks.shop(), &["wash", "P-01"]);
    assert!(!tried.status.success());
    let listed = json(own.shop(), &["shop", "devices"]);
    let marked: Vec<&str> = listed["devices"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|device| device["office"] == true)
        .map(|device| device["name"].as_str().unwrap())
        .collect();
    assert_eq!(marked, ["desk", "wall"]);
    assert!(done(own.shop(), &["shop", "devices"]).contains("keep, office"));
    done(own.shop(), &["shop", "devices", "--revoke", "desk"]);
    let out = fettle(office.shop(), &["--json", "shops"]);
    assert_eq!(out.status.code(), Some(7), "{out:?}");
    assert!(!String::from_utf8_lossy(&out.stdout).contains("bookId"));
    let said = refused(&fettle(office.shop(), &["shops"]));
    assert!(said.contains("revoked"), "{said}");
    // Whoever still has the mark sees what there was to see.
    assert_eq!(lines(&looks.shops()).len(), 20);
}

/// Source: the views, which count in SQL.
fn is_what_the_views_count(place: &Place, line: &Value) {
    let id = line["bookId"].as_str().unwrap();
    let counted = place.ask(&format!(
        "SELECT booked_job_count, watch_job_count, stop_job_count, late_order_count, tired_piece_count,
             spent_piece_count, needs_count_piece_count FROM fettle.shops WHERE book_id = '{id}'"
    ));
    let figures = COUNTED.map(|name| figure(line, name).to_string());
    assert_eq!(figures.join("|"), counted);
    assert!(
        counted.split('|').filter(|figure| *figure != "0").count() > 3,
        "{counted}"
    );
    let cost = |state: &str, which: &str| {
        place.ask(&format!(
            "SELECT sum({which}_cost) FROM fettle.job_cost JOIN fettle.jobs USING (book_id, job)
             WHERE state = '{state}' AND job_cost.book_id = '{id}'"
        ))
    };
    assert_eq!(line["doneCost"]["amount"], cost("done", "actual").as_str());
    assert_eq!(
        line["bookedCost"]["amount"],
        cost("booked", "typical").as_str()
    );
}

/// Whoever has a folder could write the mark there; it is of one life of a book, and a move begins another.
fn falls_off_with_a_move(place: &Place, id: &str) {
    let book = place.path("down");
    let mut command = Command::new(env!("CARGO_BIN_EXE_fettled"));
    command.env("FETTLED_STORE", place.url("bench"));
    command
        .args(["move", "--book-id", id, "--to-book"])
        .arg(&book);
    command.arg("--node").arg(place.path("node"));
    succeeded(&command.output().unwrap());
    let paper = std::fs::read_to_string(book.join("access/devices.json")).unwrap();
    assert!(paper.contains("\"office\""), "{paper}");
    let served = Fettled::serve_tls(&book);
    let owner = crate::paired::Device::pair(&book, "owner", "own");
    let listed = json(owner.shop(), &["shop", "devices"]);
    assert!(!listed.to_string().contains("\"office\":true"), "{listed}");
    served.stop();
}

fn without_prices(told: &Value) {
    for line in lines(told) {
        for name in ["doneCost", "bookedCost", "lateOrderCount"] {
            assert!(line[name].is_null(), "{line}");
        }
        assert_eq!(figure(line, "unpricedJobCount"), 0);
    }
    assert!(!told.to_string().contains("EUR"), "{told}");
}

#[test]
fn a_book_in_a_folder_is_one_shop_and_has_no_office() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let told = json(Shop::Solo(&book), &["shops"]);
    schemas::fits("shops", &told);
    assert_eq!(lines(&told).len(), 1);
    let line = &lines(&told)[0];
    assert_eq!(line["own"], true);
    let jobs = json(Shop::Solo(&book), &["job", "list"]);
    let jobs = jobs["jobs"].as_array().unwrap().iter();
    let booked = jobs
        .filter(|job| job["state"] == "JOB_STATE_BOOKED")
        .count();
    assert!(booked > 0);
    assert_eq!(
        figure(line, "bookedJobCount").to_string(),
        booked.to_string()
    );
    let said = fettle(Shop::Solo(&book), &["shops"]);
    assert!(said.status.success());
    let said = [said.stdout, said.stderr].concat();
    let said = String::from_utf8(said).unwrap();
    assert!(said.contains("the shop of this book alone"), "{said}");
    let words = ["pair", "--book", book.to_str().unwrap(), "--name", "desk"];
    let words = [&words[..], &["--role", "keep", "--office"]].concat();
    let said = refused(&fettled("", &words));
    assert!(said.contains("--store"), "{said}");
}
