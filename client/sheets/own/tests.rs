//! Sheets as people make them, and what each comes to.
//!
//! Method: each case is a sheet with its faults: marks, decimals, encodings, titles, totals, units where they
//! fall; beside it stand the rows as they are to be understood, by hand. All things are invented.

use fettlebook_contract::v1::make::Figures;
use fettlebook_contract::v1::{Make, PadFigures};

use super::{Beside, Understood, read};
use crate::word::word;

mod corpus;
mod refused;

fn beside() -> Beside {
    let known = Make {
        make: "coarse-foam-150".to_owned(),
        name: "coarse foam 150".to_owned(),
        figures: Some(Figures::Pad(PadFigures::default())),
        ..Make::default()
    };
    Beside {
        makes: [(known.make.clone(), known)].into(),
        currency: Some("EUR".to_owned()),
    }
}

/// A row in one line: row, name, kind, pieces, price.
fn told(row: &Understood) -> String {
    let kind = row.make.as_ref().map_or_else(|| "known".to_owned(), kind);
    let pieces = row.pieces.iter().map(|piece| {
        let count = piece.piece_count.max(1);
        let more = [
            (piece.job_count, "j"),
            (piece.full_permille, "‰"),
            (piece.volume_ul, "ul"),
            (piece.gross_mg, "mg"),
            (piece.quantity, "q"),
            ((piece.towel_count > 0).then_some(piece.towel_count), "t"),
            (piece.wash_count, "w"),
        ];
        let more = more
            .iter()
            .filter_map(|(value, unit)| Some(format!("@{}{unit}", (*value)?)));
        format!("{count}{}", more.collect::<String>())
    });
    let pieces = pieces.collect::<Vec<_>>().join("+");
    let place = row.pieces.first().map_or("", |piece| piece.place.as_str());
    let place = if place.is_empty() {
        String::new()
    } else {
        format!(" {place}")
    };
    let price = row.price.as_ref().map_or_else(String::new, |said| {
        let money = said.price.clone().unwrap_or_default();
        let pack = said
            .pack_count
            .map_or_else(String::new, |pack| format!("/{pack}"));
        format!("|{} {}{pack}", money.amount, money.currency_code)
    });
    format!("{} {}|{kind}|{pieces}{place}{price}", row.row, row.name)
}

fn kind(make: &Make) -> String {
    match &make.figures {
        Some(Figures::Pad(pad)) => {
            format!(
                "{} {} {}",
                word(pad.grade()),
                word(pad.material()),
                pad.face_mm
            )
        }
        Some(Figures::Plate(plate)) => format!("plate {} {}", plate.diameter_mm, plate.thread),
        Some(Figures::Machine(machine)) => {
            format!(
                "{} {}",
                word(machine.action()),
                machine.throw_mm.unwrap_or_default()
            )
        }
        Some(Figures::Towel(towel)) => format!("towel {}", towel.weight_g_per_m2),
        Some(Figures::Liquid(liquid)) => {
            format!(
                "{} liquid {}",
                word(liquid.grade()),
                liquid.bottle_ul / 1_000
            )
        }
        Some(Figures::Sundry(sundry)) => {
            format!("{} {}", word(sundry.unit()), sundry.pack_quantity)
        }
        Some(Figures::Tool(tool)) => word(tool.kind()),
        Some(Figures::Battery(battery)) => battery.machine_makes.join(" "),
        None => "nothing".to_owned(),
    }
}

/// A sheet comes to these rows, and nothing in it is wrong.
#[track_caller]
fn comes_to(name: &str, sheet: impl AsRef<[u8]>, rows: &[&str]) {
    let read = read("kit.csv", sheet.as_ref(), &beside());
    let problems: Vec<String> = read
        .problems
        .iter()
        .map(crate::fault::Problem::told)
        .collect();
    assert_eq!(problems, [""; 0], "{name}");
    let told: Vec<String> = read.rows.iter().map(told).collect();
    assert_eq!(told, rows, "{name}");
}

/// What is wrong with a sheet: row and column, and a word of the sentence.
#[track_caller]
fn is_wrong(name: &str, sheet: &str, wrong: &[(i64, &str, &str)]) {
    let read = read("kit.csv", sheet.as_bytes(), &beside());
    let found: Vec<(i64, &str)> = read
        .problems
        .iter()
        .map(|problem| (problem.line, problem.column.as_str()))
        .collect();
    let wanted: Vec<(i64, &str)> = wrong
        .iter()
        .map(|(row, column, _)| (*row, *column))
        .collect();
    assert_eq!(found, wanted, "{name}: {:?}", read.problems);
    for ((_, _, says), problem) in wrong.iter().zip(&read.problems) {
        assert!(problem.told().contains(says), "{name}: {}", problem.told());
        assert!(!problem.todo.is_empty(), "{name}: {}", problem.told());
    }
}
