//! What an export wrote and an import took over, as a person sees it.

use crate::render::folder::{exported, imported};
use crate::render::scenario::{plain, screen};
use crate::sheets::plan::{PassedOver, Plan};
use crate::sheets::{FILES, Read};
use fettlebook_contract::v1::{Make, PadRow};
use textwrap::core::display_width;

fn plan() -> Plan {
    let passed = |file, id: String, why| PassedOver { file, id, why };
    let there = "is there already";
    let pads = (1..=15).map(|tag| passed("kit.csv", format!("P-{tag:02}"), there));
    let job = passed("jobs.csv", "red-city".to_owned(), "is done");
    Plan {
        makes: vec![Read {
            line: 2,
            within: Vec::new(),
            what: Make::default(),
        }],
        pads: vec![PadRow::default(); 3],
        passed_over: pads.chain([job]).collect(),
        left_behind: vec!["Not taken over: what is below zero of 2 pieces.".to_owned()],
        ..Plan::default()
    }
}

#[test]
fn what_was_taken_over_and_why_the_rest_was_not() {
    insta::assert_snapshot!(plain(&imported(&screen(80), &plan(), false)), @r"
    File           New  Passed over
    makes.csv        1            0
    cars.csv         0            0
    routines.csv     0            0
    suppliers.csv    0            0
    offers.csv       0            0
    kit.csv          3           15
    jobs.csv         0            1

    Passed over in jobs.csv, because it is done: red-city.

    Passed over in kit.csv, because it is there already: P-01, P-02, P-03, P-04,
      P-05, P-06, P-07, P-08, P-09, P-10, P-11, P-12 and 3 more.

    Not taken over: what is below zero of 2 pieces.

    4 things taken over.
    ");
}

#[test]
fn a_dry_run_says_that_nothing_was_recorded() {
    let text = plain(&imported(&screen(80), &plan(), true));
    assert!(
        text.ends_with("4 things would be taken over; nothing was recorded."),
        "{text}"
    );
}

#[test]
fn what_was_written_and_where() {
    let counts = FILES.map(|file| (file, file.len()));
    insta::assert_snapshot!(plain(&exported(&screen(80), "shop", &counts)), @r"
    File           Holds
    makes.csv          9
    cars.csv           8
    routines.csv      12
    suppliers.csv     13
    offers.csv        10
    kit.csv            7
    jobs.csv           8

    All of it is in shop; README.txt there says what the columns are.

    Left out: the entries themselves, the orders, the book's policy, what is worked
      out, and devices, codes and keys. README.txt says where each is.
    ");
}

#[test]
fn no_line_runs_over_its_page() {
    for width in [80, 120] {
        for line in plain(&imported(&screen(width), &plan(), false)).lines() {
            assert!(display_width(line) <= width, "{width}: {line}");
        }
    }
}
