//! `kit.csv`: every piece with how it stands.
//!
//! It serves export and import. What the service works out, such as wear, is left out; what only the
//! book itself can hold, such as running time, is there to be read.

use fettlebook_contract::v1::Piece;
use jiff::civil::Date;

use super::cell::excerpt;
use super::sheet::Sheet;
use super::table::Source;
use super::{Dated, Read};
use crate::fault::Fault;

/// The column of the day.
const DATE: &str = "date";

/// Fields of a piece that say how it stands.
const WANTED: [&str; 27] = [
    "tag",
    "make",
    "place",
    "readiness",
    "aside_reason",
    "bin_reason",
    "landed_cost.amount",
    "landed_cost.currency_code",
    "pad.work_micro_sections",
    "pad.wash_count",
    "pad.use_count",
    "plate.run_time_s",
    "plate.change_count",
    "machine.run_time_s",
    "bundle.clean_count",
    "bundle.soiled_count",
    "bundle.drying_count",
    "bundle.wash_count",
    "bundle.grade",
    "bottle.left_ul",
    "bottle.tare_mg",
    "bottle.found_tare_mg",
    "bottle.lot",
    "bottle.expiry_date",
    "sundry.left_quantity",
    "sundry.unit",
    "tool.check_due_date",
];

fn sheet() -> Result<Sheet<Piece>, Fault> {
    let sheet = Sheet::new("tag", &[], |name| WANTED.contains(&name))?;
    Ok(sheet.led_by(&[DATE]))
}

/// The file of pieces.
///
/// # Errors
/// When one cannot be written.
pub(super) fn written(kit: &[Dated]) -> Result<String, Fault> {
    sheet()?.written_led(
        kit.iter()
            .map(|dated| (vec![dated.date.clone()], &dated.piece)),
    )
}

/// Reads the file.
///
/// # Errors
/// When it cannot be read at all.
pub(super) fn read(source: &mut Source, file: &str) -> Result<Vec<Read<Dated>>, Fault> {
    let mut kit = Vec::new();
    for read in sheet()?.read_led(source, file)? {
        let read = read.turned(|(before, piece)| Dated {
            date: before.into_iter().next().unwrap_or_default(),
            piece,
        });
        let days = [
            (DATE, read.what.date.as_str()),
            ("bottle.expiry_date", expiry(&read.what.piece)),
            ("tool.check_due_date", check_due(&read.what.piece)),
        ];
        for (column, text) in days {
            if !text.is_empty() && !is_day(text) {
                let text = format!("'{}' is not a date such as 2026-10-02.", excerpt(text));
                source.wrong(file, read.line, column, text);
            }
        }
        kit.push(read);
    }
    Ok(kit)
}

fn expiry(piece: &Piece) -> &str {
    use fettlebook_contract::v1::piece::State;
    match &piece.state {
        Some(State::Bottle(bottle)) => &bottle.expiry_date,
        _ => "",
    }
}

fn check_due(piece: &Piece) -> &str {
    use fettlebook_contract::v1::piece::State;
    match &piece.state {
        Some(State::Tool(tool)) => &tool.check_due_date,
        _ => "",
    }
}

fn is_day(text: &str) -> bool {
    text.parse::<Date>()
        .is_ok_and(|day| day.to_string() == text)
}
