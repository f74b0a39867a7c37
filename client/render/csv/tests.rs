//! Lists in both habits of decimals, guarded, and with the columns of the contract.

use jiff::tz::TimeZone;

use super::{decimals_of, guarded, table, table_of, unguarded};
use crate::columns::{Cell, Decimals, Rows};
use crate::render::scenario::supply::{eur, part_received};
use fettlebook_contract::v1::{Job, JobState, Order, OrderLine, PadLeft, Piece};
use prost_types::Timestamp;

fn points<M: prost::Message + prost::Name>(messages: &[M]) -> String {
    table(messages, &TimeZone::UTC, Decimals::Point).unwrap()
}

/// Source: OWASP, CSV Injection, the list of characters that begin a formula.
#[test]
fn a_cell_that_would_be_a_formula_carries_an_apostrophe_and_a_number_none() {
    for text in [
        "=1+1",
        "+cmd|' /C calc'!A0",
        "-2+3",
        "-",
        "-inf",
        "@SUM(A1)",
        "\t=1",
        "\r=1",
        "-18.90 EUR",
        "-18,90",
        "'=1",
        "''@a",
    ] {
        assert_eq!(guarded(text), format!("'{text}"), "{text}");
    }
    for text in [
        "", "-5", "+5", "-0.25", "-1e-7", "1=1", "it's", "'quoted'", "a-b",
    ] {
        assert_eq!(guarded(text), text);
    }
}

#[test]
fn a_guarded_cell_is_read_back_as_it_was() {
    for text in [
        "=1", "'=1", "''=1", "'it", "''", "'", "-5", "'-5", "-5 x", "@", "'@", "\t", "", "a",
    ] {
        assert_eq!(unguarded(&guarded(text)), text, "{text:?}");
    }
}

#[test]
fn every_list_is_guarded_and_may_have_columns_of_its_own() {
    let job = Job {
        job: "saloon".to_owned(),
        note: "=HYPERLINK(\"x\")".to_owned(),
        utc_offset_s: -3_600,
        ..Job::default()
    };
    let rows = Rows::whole().unwrap().led_by(&["supplier"]);
    let messages = [(vec![Cell::from("@tern")], &job)];
    let text = table_of(&rows, messages, &TimeZone::UTC, Decimals::Point).unwrap();
    assert!(text.starts_with("supplier,job,"), "{text}");
    let row = text.lines().nth(1).unwrap();
    assert!(row.starts_with("'@tern,saloon,"), "{row}");
    assert!(row.contains(",-3600,"), "{row}");
    assert!(row.contains("\"'=HYPERLINK(\"\"x\"\")\""), "{row}");
}

#[test]
fn the_header_is_the_contract_and_is_there_without_rows() {
    assert_eq!(
        points::<Job>(&[]),
        "job,car,routine,place,start_time,utc_offset_s,left_out_panels,state,note,last_seq,done_time,\
         taken.seq,taken.by,taken.taken_time,taken.tags,taken.despite,taken.passed,taken.unlogged,person,sets,second_start_time,second_from_step,first_day_done_time\n"
    );
}

#[test]
fn a_row_is_quoted_where_it_must_be_and_says_words_and_times_as_people_do() {
    let job = Job {
        job: "saloon-thursday".to_owned(),
        start_time: Some(Timestamp {
            seconds: 1_795_676_400,
            nanos: 0,
        }),
        utc_offset_s: 3_600,
        left_out_panels: vec!["roof".to_owned(), "bonnet".to_owned()],
        state: JobState::Booked.into(),
        note: "silver, \"thin\" boot".to_owned(),
        ..Job::default()
    };
    assert_eq!(
        points(&[job]).lines().nth(1),
        Some(
            "saloon-thursday,,,,2026-11-26T08:00:00+01:00,3600,roof bonnet,booked,\
             \"silver, \"\"thin\"\" boot\",0,,,,,,,,,,,,,"
        )
    );
}

/// Source: RFC 4180, section 2, of quotes; the mark of the Unicode Standard, section 23.8, as UTF-8.
#[test]
fn with_a_decimal_comma_semicolons_stand_between_cells_and_a_mark_before_them() {
    let left = PadLeft {
        tag: "P-01".to_owned(),
        damage: 0.25,
        rests_on: "few; 1.5 of them, -2,5".to_owned(),
        ..PadLeft::default()
    };
    let text = table(&[left], &TimeZone::UTC, Decimals::Comma).unwrap();
    assert!(
        text.as_bytes().starts_with(b"\xef\xbb\xbftag;damage;"),
        "{text}"
    );
    let row = text.lines().nth(1).unwrap();
    assert!(row.starts_with("P-01;0,25;"), "{row}");
    assert!(row.contains("\"few; 1.5 of them, -2,5\""), "{row}");
    let piece = Piece {
        landed_cost: eur("-18.90"),
        ..Piece::default()
    };
    let text = table(&[piece], &TimeZone::UTC, Decimals::Comma).unwrap();
    assert!(text.contains(";-18,90;EUR;"), "{text}");
    assert!(!text.contains("'-18"), "{text}");
}

#[test]
fn what_a_message_holds_in_a_list_takes_further_lines_that_repeat_its_id() {
    let line = |make: &str| OrderLine {
        make: make.to_owned(),
        ..OrderLine::default()
    };
    let order = Order {
        lines: vec![line("wool-150"), line("plate-125-m8")],
        ..part_received()
    };
    let text = points(std::slice::from_ref(&order));
    let header: Vec<&str> = text.lines().next().unwrap().split(',').collect();
    let at = |name| header.iter().position(|one| *one == name).unwrap();
    let cells: Vec<Vec<&str>> = text
        .lines()
        .skip(1)
        .map(|line| line.split(',').collect())
        .collect();
    let told = |line: usize, name| cells[line][at(name)];
    assert_eq!(cells.len(), 2);
    assert_eq!(
        (told(0, "order"), told(1, "order")),
        (&*order.order, &*order.order)
    );
    assert_eq!(
        (told(0, "lines.make"), told(1, "lines.make")),
        ("wool-150", "plate-125-m8")
    );
    assert_eq!(
        (told(0, "supplier"), told(1, "supplier")),
        (&*order.supplier, "")
    );
}

#[test]
fn a_file_says_by_its_first_line_how_it_is_written() {
    for (text, decimals) in [
        ("", Decimals::Point),
        ("tag", Decimals::Point),
        ("tag,make\n1;2;3;4\n", Decimals::Point),
        ("tag;make\n1,2,3,4\n", Decimals::Comma),
        ("\u{feff}\"a,b,c\";make\r\n", Decimals::Comma),
        ("\"a;b;\nc;\",make\n", Decimals::Point),
    ] {
        assert_eq!(decimals_of(text), decimals, "{text:?}");
    }
}
