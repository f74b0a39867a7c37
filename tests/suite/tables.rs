//! Lists and files of values with the real binary, read by a general data library that is not ours (agate for
//! Python) in the decimal habits of two countries, and taken over by another book.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::binaries::{Shop, done, fettle, json, kept_demo};
use crate::python::{run_script, succeeded};

/// Every list of the demo that comes as values.
const LISTS: [&[&str]; 15] = [
    &["make", "list"],
    &["car", "list"],
    &["routine", "list"],
    &["supplier", "list"],
    &["kit", "list", "--binned"],
    &["job", "list"],
    &["order", "list", "--closed"],
    &["entries"],
    &["book", "policy"],
    &["wear"],
    &["wear", "coarse-foam-150"],
    &["reorder"],
    &["job", "cost", "silver-finish"],
    &["quote", "silver-finish", "--markup", "30%", "--tax", "21%"],
    &[
        "quote",
        "silver-finish",
        "--markup",
        "30%",
        "--tax",
        "21%",
        "--inside",
    ],
];

/// Text that a spreadsheet or a reader of values may trip over; line ends and marks that nobody sees the service
/// does not take.
const ODD: &str = "=HYPERLINK(\"x\"); -2,5, \u{5d0}\u{5d1} <b> 'it'";

/// A table as the library read it: for each column its type and its cells.
type Table = BTreeMap<String, (String, Vec<String>)>;

/// What the library makes of files; nothing where Python is skipped.
fn read(habit: &str, files: &[String]) -> Option<BTreeMap<String, Table>> {
    let args: Vec<&str> = [habit]
        .into_iter()
        .chain(files.iter().map(String::as_str))
        .collect();
    let said = succeeded(&run_script("tables_read.py", &["agate"], &args)?);
    let told: BTreeMap<String, BTreeMap<String, Value>> = serde_json::from_str(&said).unwrap();
    let column = |column: &Value| {
        let cells = column["cells"].as_array().unwrap().iter();
        let cells = cells.map(|cell| cell.as_str().unwrap().to_owned());
        let kind = column["type"].as_str().unwrap().to_owned();
        (kind, cells.collect::<Vec<_>>())
    };
    let tables = told.into_iter().map(|(file, columns)| {
        let columns = columns
            .iter()
            .map(|(name, one)| (name.clone(), column(one)));
        (file, columns.collect())
    });
    Some(tables.collect())
}

fn saved(folder: &Path, name: &str, text: &str) -> String {
    let file = folder.join(name);
    fs::write(&file, text).unwrap();
    file.to_str().unwrap().to_owned()
}

/// The demo, with odd text in it.
fn odd_demo(folder: &Path) -> std::path::PathBuf {
    let book = kept_demo(folder, &[]);
    let shop = Shop::Solo(&book);
    done(
        shop,
        &["car", "edit", "medium-saloon-silver", "--note", ODD],
    );
    done(
        shop,
        &["supplier", "edit", "tern-quay", "--name", "+Tern; \"Quay\""],
    );
    let costed = |make: &str, more: &[&str]| {
        done(
            shop,
            &[&["receive", make, "--cost", "18,90 EUR"][..], more].concat(),
        );
    };
    costed("coarse-foam-150", &[]);
    costed("plate-125-m8", &["--run", "25 h", "--changes", "40"]);
    costed("orbital-150", &["--run", "90 min"]);
    costed("coarse-compound-1l", &["--holds", "300 ml"]);
    book
}

#[test]
fn every_list_reads_alike_in_both_habits_of_decimals() {
    let folder = tempfile::tempdir().unwrap();
    let book = odd_demo(folder.path());
    let shop = Shop::Solo(&book);
    let (mut points, mut commas) = (Vec::new(), Vec::new());
    for (at, list) in LISTS.iter().enumerate() {
        let told = |habit: &[&str]| done(shop, &[list, &["--csv"][..], habit].concat());
        let (point, comma) = (told(&[]), told(&["--decimal-comma"]));
        assert!(comma.starts_with('\u{feff}') && !point.starts_with('\u{feff}'));
        points.push(saved(folder.path(), &format!("{at}-point.csv"), &point));
        commas.push(saved(folder.path(), &format!("{at}-comma.csv"), &comma));
    }
    let Some(point) = read("point", &points) else {
        return;
    };
    let comma = read("comma", &commas).unwrap();
    for (list, (one, other)) in LISTS.iter().zip(points.iter().zip(&commas)) {
        assert_eq!(point[one], comma[other], "{list:?}");
        let well_spelt = |name: &String| {
            let parts = name.split('.');
            let is_plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
            parts
                .into_iter()
                .all(|part| !part.is_empty() && part.chars().all(is_plain))
        };
        assert!(point[one].keys().all(well_spelt), "{list:?}");
    }
    let list = |name: &[&str]| {
        let at = LISTS.iter().position(|list| *list == name).unwrap();
        &point[&points[at]]
    };
    // What the library reads is what the book says.
    let kit = json(shop, &["kit", "list", "--binned"]);
    let pieces = kit["pieces"].as_array().unwrap();
    let told = list(&["kit", "list", "--binned"]);
    let (kind, damages) = &told["pad.damage"];
    assert_eq!(kind, "Number");
    assert_eq!(told["landed_cost.amount"].0, "Number");
    for (piece, damage) in pieces.iter().zip(damages) {
        let known = piece["pad"]["damage"].as_f64();
        let (read, known) = (damage.parse::<f64>().ok(), known);
        let is_near = |(one, other): (f64, f64)| (one - other).abs() < 1e-12;
        assert_eq!(read.is_some(), known.is_some(), "{piece}");
        assert!(read.zip(known).is_none_or(is_near), "{damage} {piece}");
    }
    let tags: Vec<&str> = pieces
        .iter()
        .map(|one| one["tag"].as_str().unwrap())
        .collect();
    assert_eq!(told["tag"].1, tags);
    let cars = list(&["car", "list"]);
    let at = cars["car"]
        .1
        .iter()
        .position(|car| car == "medium-saloon-silver");
    assert_eq!(cars["note"].1[at.unwrap()], format!("'{ODD}"));
    let names = &list(&["supplier", "list"])["name"].1;
    assert!(names.contains(&"'+Tern; \"Quay\"".to_owned()), "{names:?}");
}

#[test]
fn the_register_has_a_row_for_each_deed_with_units_as_people_use_them() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let shop = Shop::Solo(&book);
    let told = done(shop, &["entries", "--csv", "--decimal-comma"]);
    let file = saved(folder.path(), "register.csv", &told);
    let Some(read) = read("comma", std::slice::from_ref(&file)) else {
        return;
    };
    let register = &read[&file];
    let entries = json(shop, &["entries"]);
    let deeds = entries["entries"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|entry| {
            let deeds = entry["deeds"].as_array().unwrap().iter();
            deeds.map(move |deed| (entry, deed))
        });
    let deeds: Vec<(&Value, &Value)> = deeds.collect();
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let column = |name: &str| &register[name].1;
    let entry_of: Vec<String> = deeds.iter().map(|(entry, _)| text(&entry["seq"])).collect();
    assert_eq!(column("entry"), &entry_of);
    let subjects: Vec<String> = deeds
        .iter()
        .map(|(_, deed)| text(&deed["subject"]))
        .collect();
    assert_eq!(column("subject"), &subjects);
    // Source: SI Brochure, table 7: milli is a thousandth, micro a millionth.
    for (name, field, per) in [
        ("volume_ml", "volumeUl", 1e3),
        ("gross_g", "grossMg", 1e3),
        ("work_sections", "workMicroSections", 1e6),
    ] {
        assert_eq!(register[name].0, "Number", "{name}");
        for (cell, (_, deed)) in column(name).iter().zip(&deeds) {
            let known = deed[field]
                .as_str()
                .map(|text| text.parse::<f64>().unwrap() / per);
            let read = cell.parse::<f64>().ok();
            let differs = read
                .zip(known)
                .is_some_and(|(one, other)| (one - other).abs() > 1e-9);
            assert!(
                read.is_some() == known.is_some() && !differs,
                "{name} {cell} {deed}"
            );
        }
    }
    let day = text(&deeds[0].0["doneTime"]);
    assert_eq!(column("day")[0], day[..10]);
    // What a list is narrowed to holds for the register.
    let of_one = done(shop, &["entries", "--about", "P-03", "--csv"]);
    assert!(of_one.lines().count() > 1, "{of_one}");
}

/// What a book knows of its machines, plates and costs.
fn behind(shop: Shop<'_>) -> BTreeMap<String, Value> {
    let kit = json(shop, &["kit", "list"]);
    let pieces = kit["pieces"].as_array().unwrap().iter();
    let told = pieces.map(|piece| {
        let run = [
            &piece["machine"]["runTimeS"],
            &piece["plate"]["runTimeS"],
            &piece["plate"]["changeCount"],
        ];
        let told = Value::from(vec![
            run[0].clone(),
            run[1].clone(),
            run[2].clone(),
            piece["landedCost"].clone(),
        ]);
        (piece["tag"].as_str().unwrap().to_owned(), told)
    });
    told.collect()
}

#[test]
fn an_export_in_either_habit_is_taken_over_with_hours_changes_and_costs() {
    let folder = tempfile::tempdir().unwrap();
    let book = odd_demo(folder.path());
    let shop = Shop::Solo(&book);
    let known = behind(shop);
    let some = |at: usize| {
        known
            .values()
            .any(|told| !told[at].is_null() && told[at] != "0")
    };
    assert!((0..4).all(some), "{known:?}");
    let mut second_exports = Vec::new();
    for habit in [&[][..], &["--decimal-comma"]] {
        let name = |what: &str| folder.path().join(format!("{what}{}", habit.len()));
        let (first, other, second) = (name("first"), name("other"), name("second"));
        let export = |shop, to: &Path| {
            let command = ["book", "export", "--to", to.to_str().unwrap()];
            done(shop, &[&command[..], habit].concat())
        };
        let page = export(shop, &first);
        assert!(page.contains("Left out: the entries themselves"), "{page}");
        let taken = Shop::Solo(&other);
        let said = done(
            taken,
            &["book", "import", "--from", first.to_str().unwrap()],
        );
        assert!(!said.contains("Not taken over"), "{said}");
        assert_eq!(behind(taken), known);
        export(taken, &second);
        for same in [
            "makes.csv",
            "cars.csv",
            "routines.csv",
            "suppliers.csv",
            "offers.csv",
        ] {
            let text = |folder: &Path| fs::read_to_string(folder.join(same)).unwrap();
            assert_eq!(text(&first), text(&second), "{same}");
        }
        second_exports.push(json(taken, &["kit", "list"]));
    }
    let told = |kit: &Value| {
        let pieces = kit["pieces"].as_array().unwrap().iter();
        let told = pieces.map(|one| (one["tag"].clone(), one["landedCost"].clone()));
        told.collect::<Vec<_>>()
    };
    assert_eq!(told(&second_exports[0]), told(&second_exports[1]));
}

#[test]
fn lists_of_values_are_read_in_under_the_names_of_an_exports_files() {
    let folder = tempfile::tempdir().unwrap();
    let book = odd_demo(folder.path());
    let shop = Shop::Solo(&book);
    let lists = folder.path().join("lists");
    fs::create_dir(&lists).unwrap();
    for (file, list) in [
        ("makes.csv", ["make", "list"]),
        ("cars.csv", ["car", "list"]),
        ("routines.csv", ["routine", "list"]),
        ("suppliers.csv", ["supplier", "list"]),
        ("kit.csv", ["kit", "list"]),
        ("jobs.csv", ["job", "list"]),
    ] {
        let told = done(shop, &[&list[..], &["--csv", "--decimal-comma"]].concat());
        fs::write(lists.join(file), told).unwrap();
    }
    let other = folder.path().join("other");
    let taken = Shop::Solo(&other);
    done(
        taken,
        &["book", "import", "--from", lists.to_str().unwrap()],
    );
    let tags = |shop| {
        let kit = json(shop, &["kit", "list"]);
        let pieces = kit["pieces"].as_array().unwrap().clone();
        pieces
            .iter()
            .map(|one| one["tag"].clone())
            .collect::<Vec<_>>()
    };
    assert_eq!(tags(taken), tags(shop));
    assert_eq!(behind(taken), behind(shop));
    let note = |shop| json(shop, &["car", "show", "medium-saloon-silver"])["car"]["note"].clone();
    assert_eq!(note(taken), ODD);
}

#[test]
fn a_decimal_comma_is_asked_for_with_a_list_of_values() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let refused = fettle(Shop::Solo(&book), &["kit", "list", "--decimal-comma"]);
    assert_eq!(refused.status.code(), Some(2));
    let said = String::from_utf8(refused.stderr).unwrap();
    assert!(said.contains("--csv"), "{said}");
}
