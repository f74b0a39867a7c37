//! What an import of a notebook took over, or would: how many pads of each make.
//!
//! It serves `book import`. Hundreds of pads are counted, not listed; `book show` lists them.

use std::collections::BTreeMap;

use fettlebook_contract::v1::{Entry, PadRow, Readiness};

use crate::render::screen::{Screen, several};
use crate::render::table::{Column, table};
use crate::render::{entry, tint};

/// What would be imported.
pub(crate) fn understood(screen: &Screen, entry: &Entry, rows: &[PadRow]) -> String {
    format!(
        "Nothing is wrong with the file. It would take over {}:\n\n{}{}\n\nNothing was recorded.",
        pads(rows),
        counted(screen, rows),
        entry::flags(screen, entry)
    )
}

/// What was imported.
pub(crate) fn imported(screen: &Screen, recorded: &Entry, rows: &[PadRow]) -> String {
    let what = format!(
        "  Took over {}; to read them: fettle book show {}",
        pads(rows),
        recorded.seq
    );
    let entry = entry::summed_up(screen, recorded, &what);
    format!("{}\n\n{entry}", counted(screen, rows))
}

fn pads(rows: &[PadRow]) -> String {
    let count = i64::try_from(rows.len()).unwrap_or(i64::MAX);
    tint::strong(&several(count, "pad", "pads"))
}

/// Pads in service and retired, by make.
fn counted(screen: &Screen, rows: &[PadRow]) -> String {
    let mut makes: BTreeMap<&str, (u64, u64)> = BTreeMap::new();
    for row in rows {
        let (in_service, retired) = makes.entry(&row.make).or_default();
        if row.readiness() == Readiness::Binned {
            *retired += 1;
        } else {
            *in_service += 1;
        }
    }
    table(
        screen,
        &[
            ("Make", Column::Text),
            ("In service", Column::Right),
            ("Retired", Column::Right),
        ],
        makes.iter().map(|(make, (in_service, retired))| {
            vec![
                (*make).to_owned(),
                in_service.to_string(),
                retired.to_string(),
            ]
        }),
    )
}
