//! Notebooks as they come out of spreadsheets, and what is said of those that cannot be read.

use super::{TEMPLATE, column_of, read};
use crate::fault::Fault;
use fettlebook_contract::v1::{AsideReason, BinReason, PadRow, Readiness};

const HEADER: &str = "tag,make,place,work_sections,job_count,wash_count,readiness,reason,date\n";

fn rows(lines: &str) -> Result<Vec<PadRow>, Fault> {
    read("notebook.csv", &format!("{HEADER}{lines}"))
}

/// Line, column and text of everything wrong.
fn wrong(text: &str) -> Vec<(i64, String, String)> {
    let fault = read("notebook.csv", text).unwrap_err();
    assert_eq!(fault.exit.code(), 2);
    let problems = fault.problems.into_vec().into_iter();
    problems
        .map(|one| (one.line, one.column, one.text))
        .collect()
}

fn places(text: &str) -> Vec<(i64, String)> {
    let places = wrong(text).into_iter();
    places.map(|(line, column, _)| (line, column)).collect()
}

#[test]
fn a_row_is_read_with_every_cell() {
    let read = rows("P-02,coarse-foam-150,bench,,9,8,binned,worn,2026-10-02\n").unwrap();
    let expected = PadRow {
        line: 2,
        tag: "P-02".to_owned(),
        make: "coarse-foam-150".to_owned(),
        place: "bench".to_owned(),
        work_micro_sections: None,
        job_count: Some(9),
        wash_count: 8,
        readiness: Readiness::Binned.into(),
        aside_reason: AsideReason::Unspecified.into(),
        bin_reason: BinReason::Worn.into(),
        date: "2026-10-02".to_owned(),
        landed_cost: None,
    };
    assert_eq!(read, [expected]);
}

#[test]
fn work_is_exact_to_a_millionth() {
    for (cell, micro) in [
        ("41.5", 41_500_000),
        ("0", 0),
        ("7", 7_000_000),
        ("0.000001", 1),
        ("1.000000", 1_000_000),
        ("9223372036854.775807", i64::MAX),
    ] {
        let read = rows(&format!("P-01,coarse-foam-150,,{cell},,,,,\n")).unwrap();
        assert_eq!(read[0].work_micro_sections, Some(micro), "{cell}");
    }
}

#[test]
fn what_is_no_number_of_sections_is_refused() {
    for cell in [
        "-1",
        "NaN",
        "inf",
        "1e3",
        "0.0000001",
        "9223372036854.775808",
        "99999999999999999999",
        "41.",
        ".5",
        "\"41,5\"",
        "41 sections",
        "+3",
    ] {
        let text = format!("{HEADER}P-01,coarse-foam-150,,{cell},,,,,\n");
        assert_eq!(places(&text), [(2, "work_sections".to_owned())], "{cell}");
    }
    for (column, cells) in [
        ("job_count", ",,-1,"),
        ("job_count", ",,2.5,"),
        ("job_count", ",,NaN,"),
        ("wash_count", ",,,99999999999999999999"),
    ] {
        let text = format!("{HEADER}P-01,coarse-foam-150,{cells},,,\n");
        assert_eq!(places(&text), [(2, column.to_owned())], "{cells}");
    }
}

#[test]
fn lines_are_counted_over_empty_ones_remarks_and_cells_of_several_lines() {
    for end in ["\n", "\r\n", "\r"] {
        let text = [
            HEADER.trim_end(),
            "",
            "",
            "# a remark",
            ",,,,,,,,",
            "P-01,coarse-foam-150,\"bench",
            "by the door\",x,,,,,",
            "P-02,coarse-foam-150,,y,,,,,",
        ]
        .join(end);
        let expected = [6, 8].map(|line| (line, "work_sections".to_owned()));
        assert_eq!(places(&text), expected, "{end:?}");
    }
}

#[test]
fn a_byte_order_mark_carriage_returns_and_quotes_are_taken_as_they_come() {
    let text = "\u{FEFF}Tag,MAKE,place,work,jobs,washes,status,reason,date\r\n\
                \"P-01\",\"coarse-foam-150\", van-a ,\"41.5\",,7,soiled,,\r\n\
                \r\n\
                P-02,coarse-foam-150,\"bench, top\",,9,8,aside,dropped,2026-10-02\r\n";
    let read = read("notebook.csv", text).unwrap();
    let told: Vec<_> = read
        .iter()
        .map(|row| (row.line, row.place.as_str()))
        .collect();
    assert_eq!(told, [(2, "van-a"), (4, "bench, top")]);
    assert_eq!(read[0].work_micro_sections, Some(41_500_000));
    assert_eq!(read[1].aside_reason(), AsideReason::Dropped);
}

#[test]
fn a_decimal_comma_comes_with_semicolons_and_a_point_is_read_beside_it() {
    let text = "\u{FEFF}tag;make;place;work_sections;job_count;wash_count;readiness;reason;date\r\n\
                P-01;coarse-foam-150;van-a;41,5;;7;soiled;;\r\n\
                P-02;coarse-foam-150;\"bench; top\";41.25;;8;;;\r\n";
    let read = read("notebook.csv", text).unwrap();
    let told = read
        .iter()
        .map(|row| (row.line, row.place.as_str(), row.work_micro_sections));
    assert_eq!(
        told.collect::<Vec<_>>(),
        [
            (2, "van-a", Some(41_500_000)),
            (3, "bench; top", Some(41_250_000))
        ]
    );
    // This may be thousands.
    let unclear = text.replace("41.25", "41.250");
    assert_eq!(places(&unclear), [(3, "work_sections".to_owned())]);
}

#[test]
fn columns_are_known_by_the_names_of_earlier_templates_too() {
    let line = "P-02,coarse-foam-150,bench,,9,8,binned,worn,2026-10-02\n";
    let text = format!("tag,make,place,work,jobs,Washes,status,reason,date\n{line}");
    assert_eq!(read("notebook.csv", &text).unwrap(), rows(line).unwrap());
}

#[test]
fn columns_may_come_in_any_order() {
    let text = "date,washes,jobs,work,make,tag,reason,status,place\n\
                2026-10-02,8,9,,coarse-foam-150,P-02,torn,binned,bench\n";
    let read = read("notebook.csv", text).unwrap();
    assert_eq!((read[0].tag.as_str(), read[0].job_count), ("P-02", Some(9)));
    assert_eq!(read[0].bin_reason(), BinReason::Torn);
}

#[test]
fn columns_that_are_missing_unknown_or_there_twice_are_all_named() {
    let text = "tag,make,place,work,jobs,wash,status,date,tag\nP-01,coarse-foam-150,,,,,,,\n";
    let named: Vec<_> = places(text).into_iter().map(|(_, column)| column).collect();
    assert_eq!(named, ["wash", "tag", "wash_count", "reason"]);
    let told = wrong("tag|make|place\n");
    assert!(
        told[0].1.contains('|') && told[0].2.contains("tag, make"),
        "{told:?}"
    );
}

#[test]
fn everything_wrong_is_named_and_not_only_the_first() {
    let text = format!(
        "{HEADER}P-01,coarse-foam-150,,many,,7,ready,,\n\
         P-02,coarse-foam-150,,,9,8,binned,tired,2.10.2026\n\
         P-03,coarse-foam-150,,,9,8,ready,worn,\n\
         P-04,coarse-foam-150,,,9,8,drying,,\n\
         P-05,coarse-foam-150\n\
         P-06,coarse-foam-150,,,9,8,,worn,2026-02-30\n"
    );
    let expected = [
        (2, "work_sections"),
        (3, "date"),
        (3, "reason"),
        (4, "reason"),
        (5, "readiness"),
        (6, ""),
        (7, "date"),
        (7, "reason"),
    ];
    assert_eq!(
        places(&text),
        expected.map(|(line, column)| (line, column.to_owned()))
    );
    let fault = read("notebook.csv", &text).unwrap_err();
    assert_eq!(
        fault.message,
        "8 things are wrong in notebook.csv, and nothing was imported."
    );
}

#[test]
fn a_date_is_a_day_of_the_calendar_written_one_way() {
    for cell in [
        "20261002",
        "2026-10-02T10:00",
        "2026-02-30",
        "02.10.2026",
        "today",
    ] {
        let text = format!("{HEADER}P-01,coarse-foam-150,,,1,0,,,{cell}\n");
        assert_eq!(places(&text), [(2, "date".to_owned())], "{cell}");
    }
}

#[test]
fn the_words_of_a_reason_go_by_the_status() {
    let aside = wrong(&format!("{HEADER}P-01,coarse-foam-150,,,9,8,aside,worn,\n"));
    assert!(
        aside[0].2.contains("dropped") && !aside[0].2.contains("torn"),
        "{aside:?}"
    );
    let binned = wrong(&format!(
        "{HEADER}P-01,coarse-foam-150,,,9,8,binned,spoilt,\n"
    ));
    assert!(binned[0].2.contains("torn"), "{binned:?}");
}

#[test]
fn a_notebook_without_pads_is_refused_and_told_of_the_template() {
    for text in ["", "\u{FEFF}", "\r\n\r\n", HEADER, TEMPLATE] {
        let fault = read("notebook.csv", text).unwrap_err();
        assert_eq!((fault.exit.code(), &*fault.field), (2, "--pads"), "{text}");
        assert!(fault.todo.contains("--template"), "{text}");
    }
}

#[test]
fn more_than_five_hundred_pads_are_told_to_be_split() {
    let lines = |count: usize| "P-01,coarse-foam-150,,,1,0,,,\n".repeat(count);
    assert_eq!(rows(&lines(500)).unwrap().len(), 500);
    let fault = rows(&lines(501)).unwrap_err();
    assert!(fault.message.contains("501 pads") && fault.message.contains("split it"));
}

#[test]
fn the_template_reads_as_a_notebook_once_its_remarks_are_pads() {
    let examples = TEMPLATE.replace("# invented: ", "");
    let read = read("notebook.csv", &examples).unwrap();
    assert_eq!(read.len(), 2);
    assert_eq!(read[0].work_micro_sections, Some(41_500_000));
    assert_eq!(read[1].bin_reason(), BinReason::Worn);
}

#[test]
fn a_field_of_the_contract_is_told_by_its_column() {
    assert_eq!(column_of("work_micro_sections"), "work_sections");
    assert_eq!(column_of("bin_reason"), "reason");
    assert_eq!(column_of("make"), "make");
}

#[test]
fn a_long_cell_is_not_repeated_in_full() {
    let cell = "x".repeat(5_000);
    let told = wrong(&format!("{HEADER}P-01,coarse-foam-150,,{cell},,,,,\n"));
    assert!(told[0].2.len() < 200, "{}", told[0].2);
}
