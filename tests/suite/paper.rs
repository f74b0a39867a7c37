//! What is printed, with the real binary: labels read by a decoder and measured by a library that are not ours
//! (zxing-cpp, pdfplumber), on paper that a browser prints (Chromium).

use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::binaries::{Shop, done, fettle, json, kept_demo};
use crate::chromium::printed;
use crate::python::{run_script, succeeded};

/// Exit code and what was said of a command that fails.
fn refused(shop: Shop<'_>, args: &[&str]) -> (i32, String) {
    let output = fettle(shop, args);
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    (output.status.code().unwrap(), said)
}

/// Number of the last entry.
fn head(shop: Shop<'_>) -> Value {
    let entries = json(shop, &["book", "entries"]);
    entries["entries"].as_array().unwrap().last().unwrap()["seq"].clone()
}

/// The tags of the pieces of which no label was printed.
fn unlabelled(shop: Shop<'_>) -> Vec<String> {
    let listed = json(shop, &["labels"]);
    let pieces = listed["pieces"].as_array().unwrap().iter();
    pieces
        .map(|piece| piece["tag"].as_str().unwrap().to_owned())
        .collect()
}

/// How labels are asked for, and the grid in which they have to stand: columns, rows, width and height in mm.
const GRIDS: [(&[&str], [&str; 4]); 3] = [
    (&[], ["3", "8", "70", "36"]),
    (&["--size", "38x21"], ["5", "13", "38", "21"]),
    (&["--one-a-page"], ["1", "1", "57", "32"]),
];

/// Sources: ISO/IEC 18004 for the code; sizes of the sheets as the command gives them, in the middle of A4 (ISO 216).
#[test]
fn soiled_labels_of_every_size_are_read_and_stand_where_their_stickers_are() {
    read_labels("");
}

/// Where the page was said once, the code of every later label opens the piece there.
#[test]
fn soiled_labels_that_open_the_page_are_read_too() {
    read_labels("bench.gannet-yard.example");
}

/// Prints labels in every size and reads them, with the page there.
fn read_labels(page: &str) {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let shop = Shop::Solo(&book);
    let tags = unlabelled(shop);
    assert!(tags.len() > 40, "{tags:?}");
    let before = if page.is_empty() {
        String::new()
    } else {
        let path = folder.path().join("first.html");
        let words = ["labels", "P-01", "--page", page, "--paper"];
        done(shop, &[&words[..], &[path.to_str().unwrap()]].concat());
        format!("https://{page}:7420/t/")
    };
    for (number, (size, grid)) in GRIDS.into_iter().enumerate() {
        let file = folder.path().join(format!("labels-{number}.html"));
        let path = file.to_str().unwrap();
        // A few are enough of a roll; P-03 is binned.
        let which: &[&str] = if size == ["--one-a-page"] {
            &["P-01..P-05", "BP-01", "TL-03"]
        } else {
            &["all"]
        };
        done(shop, &[&["labels", "--paper", path], which, size].concat());
        let Some(pdf) = printed(&file) else {
            return;
        };
        let args = [&[pdf.to_str().unwrap()][..], &grid, &[before.as_str()]].concat();
        let modules = ["pdfplumber", "zxingcpp"];
        let Some(output) = run_script("labels_read.py", &modules, &args) else {
            return;
        };
        let read = succeeded(&output);
        let mut read: Vec<&str> = read
            .lines()
            .filter_map(|line| line.split(' ').next_back())
            .collect();
        read.sort_unstable();
        let mut wanted: Vec<&str> = if size == ["--one-a-page"] {
            vec!["BP-01", "P-01", "P-02", "P-04", "P-05", "TL-03"]
        } else {
            tags.iter().map(String::as_str).collect()
        };
        wanted.sort_unstable();
        assert_eq!(read, wanted, "{grid:?}");
    }
}

/// The measured pages of a sheet; nothing where that is skipped.
fn measured(file: &Path) -> Option<Vec<Value>> {
    let pdf = printed(file)?;
    let output = run_script("paper_read.py", &["pdfplumber"], &[pdf.to_str().unwrap()])?;
    let pages: Value = serde_json::from_str(&succeeded(&output)).unwrap();
    Some(pages.as_array().unwrap().clone())
}

/// How a page reads, its words in order.
fn text(page: &Value) -> String {
    let words = page["words"].as_array().unwrap().iter();
    let words: Vec<&str> = words.map(|word| word["text"].as_str().unwrap()).collect();
    words.join(" ")
}

/// Sources of the sizes: ISO 216; ANSI/ASME Y14.1 for letter, 8.5 × 11 in.
#[test]
fn each_job_of_a_week_is_whole_on_a_page_of_its_own_in_every_size_of_paper() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let shop = Shop::Solo(&book);
    let jobs = json(shop, &["job", "list", "--state", "booked"]);
    let jobs: Vec<&str> = jobs["jobs"]
        .as_array()
        .unwrap()
        .iter()
        .map(|job| job["job"].as_str().unwrap())
        .collect();
    for (size, [width, height]) in [
        ("a4", [210.0, 297.0]),
        ("a5", [148.0, 210.0]),
        ("letter", [215.9, 279.4]),
    ] {
        let file = folder.path().join(format!("week-{size}.html"));
        let path = file.to_str().unwrap();
        fettle(shop, &["check", "--week", "--paper", path, "--size", size]);
        let Some(pages) = measured(&file) else {
            return;
        };
        assert_eq!(pages.len(), jobs.len(), "{size}");
        for (page, job) in pages.iter().zip(&jobs) {
            for (side, wanted) in [("width_mm", width), ("height_mm", height)] {
                let found = page[side].as_f64().unwrap();
                assert!((found - wanted).abs() <= 0.2, "{size}: {side} {found}");
            }
            assert_eq!(page["plain"], true, "{size}: not black on white");
            let told = text(page);
            assert!(told.starts_with(&format!("{job}: ")), "{size}: {told}");
            for part in ["Take", "Cautions", "Done at"] {
                assert!(told.contains(part), "{size}, {job}: {part}");
            }
            for word in page["words"].as_array().unwrap() {
                let at = |side: &str| word[side].as_f64().unwrap();
                let is_inside = at("x_mm") >= 5.0 && at("end_mm") <= width - 5.0;
                assert!(is_inside && at("foot_mm") <= height - 4.5, "{size}: {word}");
            }
        }
    }
}

#[test]
fn every_other_sheet_prints_black_on_white_within_its_page() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let shop = Shop::Solo(&book);
    // A stock-take begins a page for each place, and the bench's may go on to another, as may what is told of each
    // piece; the others are short here.
    let sheets: [(&str, &[&str], &[&str]); 7] = [
        (
            "kit",
            &["kit", "list"],
            &["Kit: bench", "Kit: van-a", "Kit: van-b"],
        ),
        ("order", &["reorder"], &["To order"]),
        (
            "cost",
            &["job", "cost", "red-city"],
            &["Inside: not for the customer"],
        ),
        ("wear", &["wear"], &["How worn the kit is"]),
        ("pieces", &["wear", "--pieces"], &["How worn each piece is"]),
        (
            "budget",
            &["wear", "--budget"],
            &["What will have to be replaced"],
        ),
        (
            "pads",
            &["wear", "coarse-foam-150"],
            &["coarse foam 150 (coarse-foam-150)"],
        ),
    ];
    for (name, words, heads) in sheets {
        for size in ["a4", "a5"] {
            let file = folder.path().join(format!("{name}-{size}.html"));
            let path = file.to_str().unwrap();
            done(shop, &[words, &["--paper", path, "--size", size]].concat());
            let Some(pages) = measured(&file) else {
                return;
            };
            let goes_on = pages.len().checked_sub(heads.len());
            let is_long = ["kit", "pieces", "wear"].contains(&name);
            assert!(goes_on <= Some(usize::from(is_long)), "{name} {size}");
            let begins = |page: &Value| heads.iter().find(|head| text(page).starts_with(**head));
            let begun: Vec<_> = pages.iter().filter_map(begins).collect();
            assert_eq!(begun, heads.iter().collect::<Vec<_>>(), "{name} {size}");
            for page in &pages {
                let width = page["width_mm"].as_f64().unwrap();
                assert_eq!(page["plain"], true, "{name}");
                for word in page["words"].as_array().unwrap() {
                    let end = word["end_mm"].as_f64().unwrap();
                    assert!(end <= width - 5.0, "{name} {size}: {word}");
                }
            }
        }
    }
}

#[test]
fn the_book_remembers_what_was_printed_until_that_is_taken_back() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let shop = Shop::Solo(&book);
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    done(shop, &["labels", "all", "--paper", &path("all.html")]);
    assert!(done(shop, &["labels"]).contains("A label of every piece was printed."));
    let told = done(shop, &["receive", "coarse-foam-150", "--count", "3"]);
    let new = unlabelled(shop);
    assert_eq!(new.len(), 3, "{new:?}");
    let range = format!("{}…{}", new[0], new[2]);
    let hint = format!("Write {range} on them, or print labels: fettle labels --new");
    assert!(told.contains(&hint), "{told}");
    assert!(done(shop, &["labels"]).contains(&format!("No label was printed yet of {range}.")));
    // Tags that were on the pieces need no label.
    let told = done(shop, &["receive", "coarse-foam-150", "--tag", "P-90"]);
    assert!(!told.contains("print labels"), "{told}");
    let svg = path("new.svg");
    let told = done(shop, &["labels", "--new", "--svg", &svg, "--skip", "22"]);
    assert!(told.contains("label printed"), "{told}");
    assert_eq!(unlabelled(shop), [""; 0]);
    let [first, second] =
        ["new.svg", "new-2.svg"].map(|name| fs::read_to_string(path(name)).unwrap());
    assert!(
        first.contains(&new[0]) && first.contains(&new[1]),
        "{first}"
    );
    assert!(second.contains(&new[2]) && second.contains("P-90") && !second.contains(&new[0]));
    done(shop, &["undo"]);
    assert_eq!(unlabelled(shop), [&new[..], &["P-90".to_owned()]].concat());
}

#[test]
fn what_cannot_be_printed_leaves_no_file_and_no_entry() {
    let folder = tempfile::tempdir().unwrap();
    let book = kept_demo(folder.path(), &[]);
    let shop = Shop::Solo(&book);
    let before = head(shop);
    let file = folder.path().join("labels.html");
    let path = file.to_str().unwrap();
    let (code, said) = refused(shop, &["labels", "P-01", "P-999", "--paper", path]);
    assert!(code == 4 && said.contains("P-999"), "{code}: {said}");
    let nowhere = folder.path().join("nowhere/labels.html");
    let (code, said) = refused(
        shop,
        &["labels", "--new", "--paper", nowhere.to_str().unwrap()],
    );
    assert!(code == 1 && said.contains("nowhere"), "{code}: {said}");
    let (code, said) = refused(
        shop,
        &["labels", "--new", "--size", "50x50", "--paper", path],
    );
    assert!(
        code == 2 && said.contains("70x36 or 38x21"),
        "{code}: {said}"
    );
    let (code, said) = refused(shop, &["labels", "--new", "--skip", "24", "--paper", path]);
    assert!(code == 2 && said.contains("24 places"), "{code}: {said}");
    assert!(!file.exists());
    fs::write(&file, "mine").unwrap();
    for words in [
        ["labels", "--new"].as_slice(),
        &["check"],
        &["kit", "list"],
        &["reorder"],
        &["wear"],
        &["wear", "coarse-foam-150"],
    ] {
        let (code, said) = refused(shop, &[words, &["--paper", path]].concat());
        assert!(
            code == 2 && said.contains("--force"),
            "{words:?} {code}: {said}"
        );
    }
    assert_eq!(fs::read_to_string(&file).unwrap(), "mine");
    let second = folder.path().join("sheet-2.svg");
    fs::write(&second, "mine").unwrap();
    let first = folder.path().join("sheet.svg");
    let (code, _) = refused(shop, &["labels", "--new", "--svg", first.to_str().unwrap()]);
    assert!(code == 2 && !first.exists());
    assert_eq!(head(shop), before);
}
