//! Whatever a person types or a spreadsheet saves is understood or refused in a sentence.
//!
//! Goal: dates, notebooks and sheets never break the client off. Method: what can be made of the
//! accepted forms and of real files is read; see `tests/fuzz`.

use std::fs;

use fettlebook_fuzz::run;
use jiff::ZonedDateTime;
use jiff::civil::date;
use jiff::tz::TimeZone;

use crate::notebook;
use crate::sheets::own::{self, Beside};
use crate::sheets::{self, FILES};
use crate::when::{self, Toward};

/// Inputs of the quick form, by what one costs.
const DATES: u32 = 5_000;
const NOTEBOOKS: u32 = 2_000;
const SHEETS: u32 = 400;
const OWN_SHEETS: u32 = 1_000;

const DATE_WORDS: &[&str] = &[
    "now",
    "today",
    "tomorrow",
    "yesterday",
    "thu",
    "wednesday",
    "+",
    "-",
    " days",
    " min",
    " h ",
    "2026-11-25",
    "-009999-01-01",
    "9999-12-31",
    "T",
    "Z",
    "+01:00",
    "24:00",
    "23:59",
    "02:30",
    "3660",
    "[UTC]",
];

const SHEET_WORDS: &[&str] = &[
    ",",
    "\"",
    "#",
    "'=",
    "P-01",
    "coarse-foam-150",
    "ready",
    "aside",
    "binned",
    "worn",
    "2026-10-02",
    "41.5",
    "make",
    "tag",
    "true",
    "12.34",
    "EUR",
];

const OWN_WORDS: &[&str] = &[
    ";",
    ",",
    "\t",
    "\"",
    "\n",
    "what",
    "how many",
    "size",
    "left",
    "price",
    "use by",
    "weight",
    "2x ",
    " 150 mm",
    "5.5\"",
    "½",
    "3/4",
    "431 g",
    "24",
    "2x12",
    "18,90 €",
    "1.234",
    "pad",
    "compound",
    "towel",
    "coarse",
    "Total",
    "sep=",
    "9999999999999999999",
    "-1",
    "03/2027",
    "\u{feff}",
];

/// Wednesday 25 November 2026, 14:30, in a zone one hour ahead of UTC with summer time.
fn now() -> ZonedDateTime {
    date(2026, 11, 25)
        .at(14, 30, 0, 0)
        .to_zoned_datetime(TimeZone::posix("CET-1CEST,M3.5.0,M10.5.0/3").unwrap())
        .unwrap()
}

#[test]
fn fuzz_a_date_is_understood_or_refused_in_a_sentence() {
    let now = now();
    run("date", DATE_WORDS, DATES, |bytes| {
        let text = &String::from_utf8_lossy(bytes);
        for toward in [Toward::Ahead, Toward::Back] {
            match when::moment(text, &now, toward) {
                Ok(moment) => {
                    let written = moment.timestamp().to_string();
                    assert_eq!(when::moment(&written, &now, toward), Ok(moment));
                }
                Err(why) => assert!(why.ends_with('.'), "{why}"),
            }
        }
        match when::day(text, &now) {
            Ok(day) => assert_eq!(when::day(&day.to_string(), &now), Ok(day)),
            Err(why) => assert!(why.ends_with('.'), "{why}"),
        }
        let _ = when::end_of_day(text, &now);
    });
}

#[test]
fn fuzz_a_notebook_is_read_or_its_lines_are_named() {
    run("notebook", SHEET_WORDS, NOTEBOOKS, |bytes| {
        let text = &String::from_utf8_lossy(bytes);
        let line_count = i64::try_from(text.split(['\n', '\r']).count()).unwrap();
        match notebook::read("pads.csv", text) {
            Ok(rows) => {
                assert!(!rows.is_empty());
                assert!(
                    rows.is_sorted_by(|one, two| one.line < two.line),
                    "{rows:?}"
                );
                assert!(rows.iter().all(|row| (2..=line_count).contains(&row.line)));
            }
            Err(fault) => {
                let mut lines = fault.problems.iter().map(|problem| problem.line);
                assert!(
                    lines.all(|line| (1..=line_count).contains(&line)),
                    "{fault:?}"
                );
            }
        }
    });
}

/// The first line of an input is the name of the file that the rest of it is put into.
#[test]
fn fuzz_a_sheet_is_read_or_its_lines_are_named() {
    let folder = tempfile::tempdir().unwrap();
    run("sheet", SHEET_WORDS, SHEETS, |bytes| {
        let mut parts = bytes.splitn(2, |byte| *byte == b'\n');
        let (name, rest) = (parts.next().unwrap(), parts.next().unwrap_or_default());
        let known = FILES.iter().find(|file| file.as_bytes() == name);
        let path = folder.path().join(known.unwrap_or(&FILES[0]));
        fs::write(&path, rest).unwrap();
        let read = sheets::read(folder.path());
        fs::remove_file(&path).unwrap();
        let line_count = i64::try_from(rest.split(|b| b"\n\r".contains(b)).count()).unwrap();
        if let Ok((_, problems)) = read {
            let mut lines = problems.iter().map(|problem| problem.line);
            assert!(
                lines.all(|line| (1..=line_count).contains(&line)),
                "{problems:?}"
            );
        }
    });
}

/// A list in a person's own words: each row is one of the sheet, names a make and counts what can be.
#[test]
fn fuzz_a_sheet_of_ones_own_is_understood_or_its_rows_are_named() {
    let beside = Beside {
        currency: Some("EUR".to_owned()),
        ..Beside::default()
    };
    run("own-sheet", OWN_WORDS, OWN_SHEETS, |bytes| {
        // UTF-16 may make two line ends of one byte's neighbours.
        let most = i64::try_from(bytes.len()).unwrap() + 2;
        let sheet = own::read("kit.csv", bytes, &beside);
        for row in &sheet.rows {
            assert!((1..=most).contains(&row.row), "{row:?}");
            assert!(!row.name.is_empty() && !row.pieces.is_empty(), "{row:?}");
            let counted = row
                .pieces
                .iter()
                .all(|piece| (0..=500).contains(&piece.piece_count));
            assert!(counted, "{row:?}");
        }
        for problem in &sheet.problems {
            assert!((1..=most).contains(&problem.line), "{problem:?}");
            assert!(problem.text.ends_with(['.', ')']), "{problem:?}");
        }
    });
}
