//! What an import of a notebook says: what would be, and what was.

use super::super::notebook as notebook_page;
use super::super::scenario::{at, plain, screen};
use fettlebook_contract::v1::{Entry, Flag, PadRow, Readiness};

fn rows() -> Vec<PadRow> {
    let row = |make: &str, readiness: Readiness| PadRow {
        make: make.to_owned(),
        readiness: readiness.into(),
        ..PadRow::default()
    };
    vec![
        row("fine-foam-150", Readiness::Unspecified),
        row("coarse-foam-150", Readiness::Binned),
        row("coarse-foam-150", Readiness::Binned),
        row("coarse-foam-150", Readiness::Aside),
    ]
}

#[test]
fn what_would_be_imported() {
    insta::assert_snapshot!(plain(&notebook_page::understood(&screen(80), &Entry::default(), &rows())), @r"
    Nothing is wrong with the file. It would take over 4 pads:

    Make             In service  Retired
    coarse-foam-150           1        2
    fine-foam-150             1        0

    Nothing was recorded.
    ");
}

#[test]
fn what_was_imported() {
    let entry = Entry {
        seq: 12,
        done_time: at(0),
        flags: vec![Flag {
            tag: "P-02".to_owned(),
            text: "P-02 had worn twice its rating.".to_owned(),
            ..Flag::default()
        }],
        ..Entry::default()
    };
    insta::assert_snapshot!(plain(&notebook_page::imported(&screen(80), &entry, &rows())), @r"
    Make             In service  Retired
    coarse-foam-150           1        2
    fine-foam-150             1        0

    Entry 12  Thu 26 Nov 2026 08:00
      Took over 4 pads; to read them: fettle book show 12
      Flagged: P-02 had worn twice its rating.
    To take it back: fettle undo 12
    ");
}
