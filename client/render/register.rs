//! The register: the book as a flat list, one row a deed, with units as people use them.
//!
//! What an entry says of all its deeds, such as its note, stands in each of their rows, so that the rows may be
//! sorted and sifted in a spreadsheet.

use fettlebook_contract::v1::{Deed, Entry};
use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::columns::Cell;
use crate::render::amount::decimal;
use crate::render::entry::clause;
use crate::word::word;

/// Its columns, in order.
pub(crate) const COLUMNS: [&str; 24] = [
    "entry",
    "day",
    "time",
    "by",
    "subject",
    "deed",
    "what_happened",
    "job",
    "step",
    "place",
    "volume_ml",
    "section_count",
    "work_sections",
    "worked_min",
    "count",
    "quantity",
    "gross_g",
    "tare_g",
    "reverses_entry",
    "reversed_by_entry",
    "flag",
    "note",
    "recorded_day",
    "recorded_time",
];

/// Decimal places between a unit of the contract and that of people: mg and g, µL and mL.
const THOUSANDTHS: u32 = 3;
const MILLIONTHS: u32 = 6;
const HUNDREDTHS: u32 = 2;
/// Milliseconds of a hundredth of a minute.
const MS_OF_A_HUNDREDTH: i64 = 600;

/// The rows of an entry, days and times as a clock in that zone shows them.
pub(crate) fn rows(entry: &Entry, zone: &TimeZone) -> Vec<Vec<Cell>> {
    let recorded = entry.recorded_time.as_ref();
    let done = when(entry.done_time.as_ref().or(recorded), zone);
    let recorded = when(recorded, zone);
    let none = [Deed::default()];
    let deeds = if entry.deeds.is_empty() {
        &none[..]
    } else {
        &entry.deeds
    };
    let row = |(at, deed): (usize, &Deed)| {
        let [day, time] = done.clone();
        let [recorded_day, recorded_time] = recorded.clone();
        [
            entry.seq.into(),
            day,
            time,
            entry.by.as_str().into(),
            deed.subject.as_str().into(),
            word(deed.kind()).into(),
            clause(deed).into(),
            deed.job.as_str().into(),
            deed.step.as_str().into(),
            deed.place.as_str().into(),
            scaled(deed.volume_ul, THOUSANDTHS),
            whole(deed.section_count),
            scaled(deed.work_micro_sections, MILLIONTHS),
            scaled(deed.time_ms.map(hundredths_of_min), HUNDREDTHS),
            whole(deed.count),
            whole(deed.quantity),
            scaled(deed.gross_mg, THOUSANDTHS),
            scaled(deed.tare_mg, THOUSANDTHS),
            whole(deed.reverses_seq),
            whole(entry.reversed_by_seq),
            flags(entry, at, deed).into(),
            entry.note.as_str().into(),
            recorded_day,
            recorded_time,
        ]
        .to_vec()
    };
    deeds.iter().enumerate().map(row).collect()
}

/// What contradicts the book of a deed's subject; what is about none of the subjects stands at the first deed.
fn flags(entry: &Entry, at: usize, deed: &Deed) -> String {
    let is_here = |tag: &str| {
        let mut deeds = entry.deeds.iter();
        let first = deeds.position(|deed| deed.subject == tag).unwrap_or(0);
        first == at || (at > 0 && deed.subject == tag)
    };
    let flags = entry.flags.iter().filter(|flag| is_here(&flag.tag));
    let texts: Vec<&str> = flags.map(|flag| flag.text.as_str()).collect();
    texts.join(" ")
}

/// Day and time of a moment.
fn when(stamp: Option<&prost_types::Timestamp>, zone: &TimeZone) -> [Cell; 2] {
    let moment = stamp.and_then(|stamp| Timestamp::new(stamp.seconds, stamp.nanos).ok());
    moment.map_or_else(<[Cell; 2]>::default, |moment| {
        let local = moment.to_zoned_datetime(zone.clone());
        ["%Y-%m-%d", "%H:%M:%S"].map(|form| local.strftime(form).to_string().into())
    })
}

fn whole(number: Option<i64>) -> Cell {
    number.map_or_else(Cell::default, Cell::from)
}

fn scaled(number: Option<i64>, places: u32) -> Cell {
    let told = number.map(|number| Cell::Number(decimal(number, places)));
    told.unwrap_or_default()
}

/// Hundredths of a minute, the nearest.
const fn hundredths_of_min(ms: i64) -> i64 {
    ms.saturating_add(MS_OF_A_HUNDREDTH / 2)
        .div_euclid(MS_OF_A_HUNDREDTH)
}

#[cfg(test)]
mod tests {
    use jiff::tz::{Offset, TimeZone};

    use super::{COLUMNS, rows};
    use fettlebook_contract::v1::{Deed, DeedKind, Entry, Flag};
    use prost_types::Timestamp;

    fn told(entry: &Entry) -> Vec<Vec<String>> {
        let zone = TimeZone::fixed(Offset::constant(1));
        let rows = rows(entry, &zone);
        let texts = rows.iter().map(|row| {
            assert_eq!(row.len(), COLUMNS.len());
            row.iter().map(|cell| cell.text().to_owned()).collect()
        });
        texts.collect()
    }

    fn cell<'a>(row: &'a [String], column: &str) -> &'a str {
        &row[COLUMNS.iter().position(|name| *name == column).unwrap()]
    }

    fn entry() -> Entry {
        let stamp = |seconds| Some(Timestamp { seconds, nanos: 0 });
        Entry {
            seq: 41,
            done_time: stamp(1_795_676_400),
            recorded_time: stamp(1_795_734_001),
            by: "van-a".to_owned(),
            deeds: vec![
                Deed {
                    kind: DeedKind::PadUsed.into(),
                    subject: "P-07".to_owned(),
                    clause: "worked 9 sections".to_owned(),
                    job: "saloon".to_owned(),
                    step: "cut".to_owned(),
                    section_count: Some(9),
                    time_ms: Some(1_350_300),
                    work_micro_sections: Some(8_250_000),
                    ..Deed::default()
                },
                Deed {
                    kind: DeedKind::Weighed.into(),
                    subject: "B-02".to_owned(),
                    text: "B-02 was weighed.".to_owned(),
                    gross_mg: Some(431_250),
                    volume_ul: Some(-1_500),
                    ..Deed::default()
                },
            ],
            flags: vec![
                Flag {
                    tag: "B-02".to_owned(),
                    text: "Less than nothing.".to_owned(),
                    ..Flag::default()
                },
                Flag {
                    text: "Told late.".to_owned(),
                    ..Flag::default()
                },
            ],
            note: "rain, again".to_owned(),
            ..Entry::default()
        }
    }

    #[test]
    fn a_deed_is_a_row_in_units_that_people_use() {
        let told = told(&entry());
        let [pad, bottle] = told.as_slice() else {
            panic!("{told:?}")
        };
        for (column, text) in [
            ("entry", "41"),
            ("day", "2026-11-26"),
            ("time", "08:00:00"),
            ("by", "van-a"),
            ("subject", "P-07"),
            ("deed", "pad-used"),
            ("what_happened", "worked 9 sections"),
            ("job", "saloon"),
            ("worked_min", "22.51"),
            ("work_sections", "8.25"),
            ("volume_ml", ""),
            ("flag", "Told late."),
            ("note", "rain, again"),
            ("recorded_day", "2026-11-27"),
            ("recorded_time", "00:00:01"),
        ] {
            assert_eq!(cell(pad, column), text, "{column}");
        }
        for (column, text) in [
            ("entry", "41"),
            ("what_happened", "B-02 was weighed"),
            ("gross_g", "431.25"),
            ("volume_ml", "-1.5"),
            ("flag", "Less than nothing."),
            ("note", "rain, again"),
        ] {
            assert_eq!(cell(bottle, column), text, "{column}");
        }
    }

    #[test]
    fn an_entry_without_a_deed_is_a_row_too() {
        let bare = Entry {
            seq: 3,
            ..Entry::default()
        };
        let told = told(&bare);
        assert_eq!((told.len(), cell(&told[0], "entry")), (1, "3"));
        assert_eq!(cell(&told[0], "day"), "");
    }
}
