//! The pads of a notebook: taken over whole with what each has behind it, or not at all.
//!
//! Coarse foam works 18 sections before it is changed and is rated for 130.

use fettlebook_model::command::{Behind, NotebookRow};
use fettlebook_model::decide::{RowProblem, problems};
use fettlebook_model::kit::{PadState, Readiness};
use fettlebook_model::make::Grade;
use fettlebook_model::wear::{AsideReason, BinReason};
use fettlebook_model::{Command, Reason, Record, Subject};

use crate::shop::{Shop, at, id, noted, records, replayed, restored, retired, tag};

const FOAM: &str = "coarse-foam-150";

fn jobs(pad: &str, make: &str, count: i64) -> NotebookRow {
    NotebookRow {
        behind: Behind::Jobs(count),
        ..noted(pad, make, 0)
    }
}

fn pad<'a>(shop: &'a Shop, pad: &str) -> &'a PadState {
    shop.piece(pad).pad().unwrap()
}

/// Source: by hand: six jobs of 18 sections are 108, and 41.5 sections are three loads begun.
#[test]
fn jobs_become_work_by_the_load_and_work_becomes_uses() {
    let mut shop = Shop::new();
    let washed = NotebookRow {
        wash_count: 7,
        ..noted("P-02", FOAM, 41_500_000)
    };
    shop.import(vec![jobs("P-01", FOAM, 6), washed, noted("P-03", FOAM, 0)]);
    let told = |shop: &Shop, tag: &str| {
        let pad = pad(shop, tag);
        (pad.work.micro_sections(), pad.use_count, pad.wash_count)
    };
    assert_eq!(told(&shop, "P-01"), (108_000_000, 6, 0));
    assert_eq!(told(&shop, "P-02"), (41_500_000, 3, 7));
    assert_eq!(told(&shop, "P-03"), (0, 0, 0));
    // The load is the make's own.
    shop.edit_pad(FOAM, |figures| figures.load_sections = Some(10));
    shop.import(vec![jobs("P-04", FOAM, 6)]);
    assert_eq!(told(&shop, "P-04"), (60_000_000, 6, 0));
}

/// Basis: common practice, no source: a pad that has worked has carried what its grade is for.
#[test]
fn a_pad_that_worked_has_carried_what_its_make_is_for() {
    let mut shop = Shop::new();
    shop.import(vec![
        jobs("P-01", FOAM, 1),
        jobs("P-02", "fine-foam-150", 1),
        noted("P-03", FOAM, 1),
        noted("P-04", FOAM, 0),
        jobs("P-05", FOAM, 0),
    ]);
    let carried =
        ["P-01", "P-02", "P-03", "P-04", "P-05"].map(|tag| pad(&shop, tag).coarsest_liquid);
    let (coarse, fine) = (Some(Grade::Coarse), Some(Grade::Fine));
    assert_eq!(carried, [coarse, fine, coarse, None, None]);
}

/// A notebook says neither when a pad was washed nor after what: one that is ready with washes behind it
/// was, one that is soiled or never was washed was not.
#[test]
fn a_pad_from_a_notebook_carries_what_no_wash_took_off() {
    let mut shop = Shop::new();
    let washed = |tag, readiness| NotebookRow {
        wash_count: 2,
        readiness,
        ..jobs(tag, FOAM, 3)
    };
    shop.import(vec![
        jobs("P-01", FOAM, 3),
        washed("P-02", Readiness::Ready),
        washed("P-03", Readiness::Soiled),
    ]);
    shop.mark_dry("P-03");
    let unwashed = |shop: &Shop, tag| pad(shop, tag).unwashed_liquid();
    assert_eq!(unwashed(&shop, "P-01"), Some(Grade::Coarse));
    assert_eq!(unwashed(&shop, "P-02"), None);
    assert_eq!(unwashed(&shop, "P-03"), Some(Grade::Coarse));
    shop.wash("P-01 P-03");
    assert_eq!(unwashed(&shop, "P-01"), None);
    assert_eq!(unwashed(&shop, "P-03"), None);
}

/// A date without a time is the middle of that day, or now where that is still to come.
#[test]
fn each_pad_ends_as_its_row_says_since_the_day_it_says() {
    let mut shop = Shop::new();
    let dated = |row: NotebookRow, date: &str, readiness| NotebookRow {
        date: Some(date.parse().unwrap()),
        readiness,
        ..row
    };
    let (torn, dropped) = (BinReason::Torn, AsideReason::Dropped);
    shop.go_to("2026-03-05 09:00");
    shop.import(vec![
        dated(jobs("P-01", FOAM, 9), "2025-10-02", Readiness::Binned(torn)),
        dated(
            jobs("P-02", FOAM, 2),
            "2026-01-31",
            Readiness::Aside(dropped),
        ),
        dated(jobs("P-03", FOAM, 1), "2026-03-05", Readiness::Soiled),
        dated(jobs("P-04", FOAM, 0), "2000-01-01", Readiness::Ready),
        dated(jobs("P-05", FOAM, 0), "2026-03-06", Readiness::Ready),
        NotebookRow {
            place: id("van-a"),
            ..jobs("P-06", FOAM, 0)
        },
    ]);
    let stands = |pad: &str| {
        let piece = shop.piece(pad);
        assert_eq!(piece.received_at, piece.since, "{pad}");
        (piece.readiness, piece.since)
    };
    assert_eq!(
        stands("P-01"),
        (Readiness::Binned(torn), at("2025-10-02 12:00"))
    );
    assert_eq!(
        stands("P-02"),
        (Readiness::Aside(dropped), at("2026-01-31 12:00"))
    );
    assert_eq!(stands("P-03"), (Readiness::Soiled, shop.now));
    assert_eq!(stands("P-04"), (Readiness::Ready, at("2000-01-01 12:00")));
    assert_eq!(stands("P-05"), (Readiness::Ready, shop.now));
    assert_eq!(stands("P-06"), (Readiness::Ready, shop.now));
    assert_eq!(
        (&shop.piece("P-01").place, &shop.piece("P-06").place),
        (&id("bench"), &id("van-a"))
    );
    assert_eq!(shop.entries.last().unwrap().done_at, shop.now);
}

/// The pads of a notebook do what pads do: a soiled one is washed, one aside comes back, a binned one
/// stays out of every pick and in the lives.
#[test]
fn a_pad_of_a_notebook_lives_on_as_any_other() {
    let mut shop = Shop::new();
    let row = |pad: &str, readiness| NotebookRow {
        readiness,
        ..jobs(pad, FOAM, 3)
    };
    shop.import(vec![
        row("P-01", Readiness::Soiled),
        retired("P-02", FOAM, 65_000_000, "worn"),
    ]);
    shop.wash("P-01");
    assert_eq!(shop.piece("P-01").readiness.word(), "drying");
    assert_eq!(pad(&shop, "P-01").wash_count, 1);
    let life = shop.life(FOAM);
    assert_eq!(
        (life.counts.failure_count, life.counts.in_service_count),
        (1, 1)
    );
    assert_eq!(
        life.rests_on(),
        "Rests on 1 retirement here and the rating."
    );
    shop.bin("P-01", "torn");
    assert_eq!(shop.life(FOAM).counts.failure_count, 2);
    assert_eq!(replayed(&shop.entries), shop.book);
    assert_eq!(restored(&shop.book), shop.book);
}

/// What is wrong, as a person would point at it.
fn pointed(wrong: &[RowProblem]) -> Vec<(i64, &str, Reason)> {
    wrong
        .iter()
        .map(|RowProblem { line, refusal }| (*line, refusal.field.as_str(), refusal.reason))
        .collect()
}

/// A notebook in which nearly everything is wrong, by line.
fn bad_rows() -> Vec<NotebookRow> {
    let line = |line, row: NotebookRow| NotebookRow { line, ..row };
    let day = |date: &str| Some(date.parse().unwrap());
    vec![
        line(2, jobs("P-50", FOAM, 1)),
        line(3, jobs("P-50", FOAM, 1)),
        line(4, jobs("P-01", FOAM, 1)),
        line(6, jobs("P-51", "velvet-150", 1)),
        line(7, jobs("P-52", "fine-polish-500ml", 1)),
        line(
            14,
            NotebookRow {
                date: day("2026-03-06"),
                ..jobs("P-59", FOAM, 0)
            },
        ),
        line(
            15,
            NotebookRow {
                date: day("1999-12-31"),
                ..jobs("P-60", FOAM, 0)
            },
        ),
        line(
            16,
            NotebookRow {
                date: day("2030-01-01"),
                ..jobs("P-01", "velvet-150", 1)
            },
        ),
    ]
}

#[test]
fn everything_wrong_is_named_by_line_and_column() {
    let shop = Shop::stocked();
    let wrong = problems(&shop.book, &bad_rows(), shop.now);
    let expected = [
        (3, "tag", Reason::TagTaken),
        (4, "tag", Reason::TagTaken),
        (6, "make", Reason::MakeUnknown),
        (7, "make", Reason::WrongSort),
        (14, "date", Reason::TimeFuture),
        (15, "date", Reason::FieldInvalid),
        (16, "tag", Reason::TagTaken),
        (16, "make", Reason::MakeUnknown),
        (16, "date", Reason::TimeFuture),
    ];
    assert_eq!(pointed(&wrong), expected);
    for RowProblem { refusal, .. } in &wrong {
        assert!(refusal.what.ends_with('.'), "{}", refusal.what);
    }
    let what = |at: usize| wrong[at].refusal.what.as_str();
    assert_eq!(what(0), "The tag P-50 is in the notebook twice.");
    assert_eq!(
        what(1),
        "The tag P-01 is taken, or was once; tags are never used again."
    );
    assert_eq!(
        what(3),
        "The make fine-polish-500ml is a bottle, not a pad."
    );
    assert_eq!(what(4), "2026-03-06 lies in the future.");
    assert_eq!(what(5), "1999-12-31 lies before the year 2000.");
}

#[test]
fn one_bad_row_and_nothing_is_taken_over() {
    let mut shop = Shop::stocked();
    let before = shop.book.clone();
    let refused = shop.try_import(bad_rows()).unwrap_err();
    assert_eq!(
        (refused.reason, refused.field.as_str()),
        (Reason::TagTaken, "rows[3].tag")
    );
    let what = "Line 3: The tag P-50 is in the notebook twice. There are 8 more problems.";
    assert_eq!(refused.what, what);
    let two = shop.try_import(bad_rows()[..3].to_vec()).unwrap_err();
    assert!(
        two.what.ends_with("twice. There is 1 more problem."),
        "{}",
        two.what
    );
    let one = shop.try_import(bad_rows()[..2].to_vec()).unwrap_err();
    assert!(one.what.ends_with("in the notebook twice."), "{}", one.what);
    assert_eq!(shop.book, before);
    shop.import(bad_rows()[..1].to_vec());
    assert!(shop.book.piece(tag("P-50")).is_some());
}

#[test]
fn a_notebook_holds_one_to_five_hundred_pads_and_a_short_note() {
    let mut shop = Shop::new();
    let refused = |shop: &mut Shop, rows| {
        let refused = shop.try_import(rows).unwrap_err();
        (refused.reason, refused.field)
    };
    let rows = |count: i64| {
        (1..=count)
            .map(|at| jobs(&format!("P-{at:03}"), FOAM, 1))
            .collect()
    };
    assert_eq!(
        refused(&mut shop, vec![]),
        (Reason::FieldMissing, "rows".into())
    );
    assert_eq!(
        refused(&mut shop, rows(501)),
        (Reason::FieldInvalid, "rows".into())
    );
    let noted = Command::ImportPads {
        note: "x".repeat(501),
        rows: rows(1),
    };
    assert_eq!(shop.try_say(noted).unwrap_err().field, "note");
    assert_eq!(shop.import(rows(500)).deeds.len(), 500);
}

#[test]
fn a_notebook_is_reversed_as_the_one_entry_it_is() {
    let mut shop = Shop::stocked();
    let before = standing(&shop);
    let rows = vec![
        jobs("P-50", FOAM, 6),
        retired("P-51", FOAM, 65_000_000, "worn"),
    ];
    let seq = shop.import(rows.clone()).seq;
    assert_eq!(shop.life(FOAM).counts.failure_count, 1);
    shop.reverse(seq).unwrap();
    assert_eq!(standing(&shop), before);
    assert!(shop.book.piece(tag("P-50")).is_none() && shop.book.piece(tag("P-51")).is_none());
    assert_eq!(shop.life(FOAM).counts.failure_count, 0);
    let taken = shop.try_import(rows).unwrap_err();
    assert_eq!(taken.reason, Reason::TagTaken);
}

/// The records of what stands in the book.
fn standing(shop: &Shop) -> Vec<(Subject, Record)> {
    let mut records = records(&shop.book);
    records.retain(|(_, record)| *record != Record::TakenBack);
    records
}

/// What rests on an imported pad keeps the import from being reversed.
#[test]
fn a_notebook_whose_pads_have_worked_since_is_not_reversed() {
    let mut shop = Shop::new();
    let seq = shop
        .import(vec![jobs("P-50", FOAM, 6), jobs("P-51", FOAM, 6)])
        .seq;
    shop.wash("P-51");
    assert_eq!(shop.reverse(seq).unwrap_err().reason, Reason::NotReversible);
    let wash = shop.book.head();
    shop.reverse(wash).unwrap();
    shop.reverse(seq).unwrap();
    assert!(shop.book.piece(tag("P-51")).is_none());
}
