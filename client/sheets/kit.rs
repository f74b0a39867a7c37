//! `kit.csv`: every piece with how it stands. What the service works out, such as wear, is left out.

use fettlebook_contract::v1::{Piece, Readiness};
use jiff::civil::Date;

use super::sheet::Sheet;
use super::table::Source;
use super::{Dated, Read};
use crate::columns::Decimals;
use crate::columns::cell::excerpt;
use crate::fault::Fault;

/// The column of the day.
const DATE: &str = "date";
/// The column of when it came.
const CAME: &str = "received_time";
/// Letters of a day, with which a time begins.
const DAY_LETTERS: usize = 10;

/// Fields of a piece that say how it stands.
const WANTED: [&str; 29] = [
    "tag",
    "make",
    "place",
    "readiness",
    "aside_reason",
    "bin_reason",
    "landed_cost.amount",
    "landed_cost.currency_code",
    "landed_quantity",
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
    "battery.charge_count",
];

fn sheet() -> Result<Sheet<Piece>, Fault> {
    let sheet = Sheet::new(|name| WANTED.contains(&name))?;
    Ok(sheet.led_by(&[DATE, CAME]))
}

/// The file of pieces.
///
/// # Errors
/// When one cannot be written.
pub(super) fn written(kit: &[Dated], decimals: Decimals) -> Result<String, Fault> {
    let kit = kit.iter().map(|dated| {
        let led = [&dated.date, &dated.came].map(|text| text.as_str().into());
        (led.to_vec(), &dated.piece)
    });
    sheet()?.written_led(kit, decimals)
}

/// Reads the file.
///
/// # Errors
/// When it cannot be read at all.
pub(super) fn read(source: &mut Source, file: &str) -> Result<Vec<Read<Dated>>, Fault> {
    let mut kit = Vec::new();
    for read in sheet()?.read_led(source, file)? {
        let read = read.turned(|(before, piece)| dated(&before, piece));
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

/// A piece with its day: in a list that does not say it the one on which it came, but of what is binned or aside,
/// for that was later.
fn dated(before: &[String], piece: Piece) -> Dated {
    let cell = |at: usize| before.get(at).map_or("", String::as_str);
    let (date, came) = (cell(0), cell(1));
    let came_on = came.get(..DAY_LETTERS).filter(|_| {
        let is_since = [Readiness::Aside, Readiness::Binned];
        date.is_empty() && !is_since.contains(&piece.readiness())
    });
    Dated {
        date: came_on.unwrap_or(date).to_owned(),
        came: came.to_owned(),
        piece,
    }
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
