//! A sheet as it was understood, row by row.

use fettlebook_contract::v1::make::Figures;
use fettlebook_contract::v1::{Make, StartPiece};

use crate::figures::read::thread_told;
use crate::render::screen::{Screen, several};
use crate::render::table::{Column, table};
use crate::render::{amount, tint};
use crate::sheets::own::{Sheet, Understood};
use crate::word::word;

/// Each row as it was understood, what was taken to be usual, and what was passed over.
pub(crate) fn understood(screen: &Screen, sheet: &Sheet) -> String {
    let headings = [
        ("Row", Column::Right),
        ("Thing", Column::Text),
        ("There", Column::Text),
        ("Price", Column::Text),
        ("Taken as usual", Column::Text),
    ];
    let rows = sheet.rows.iter().map(|row| {
        vec![
            row.row.to_string(),
            thing(row),
            there(row),
            price(row),
            row.taken.join(", "),
        ]
    });
    let mut page = table(screen, &headings, rows);
    if !sheet.passed_over.is_empty() {
        let told = sheet
            .passed_over
            .iter()
            .map(|(row, why)| format!("row {row}: {why}"));
        let told = told.collect::<Vec<_>>().join(", ");
        page.push_str(&format!(
            "\n\n{}",
            screen.hung("Passed over: ", "  ", &told)
        ));
    }
    page
}

/// What a row is about: a make of the book, or a new one and what it was taken for.
fn thing(row: &Understood) -> String {
    match &row.make {
        None => row.name.clone(),
        Some(make) => format!("{} ({} {})", row.name, tint::strong("new:"), kind(make)),
    }
}

fn kind(make: &Make) -> String {
    match &make.figures {
        Some(Figures::Pad(pad)) => format!(
            "{} {} pad {}",
            word(pad.grade()),
            word(pad.material()),
            amount::length(pad.face_mm)
        ),
        Some(Figures::Plate(plate)) => {
            format!(
                "plate {}, {}",
                amount::length(plate.diameter_mm),
                thread_told(&plate.thread)
            )
        }
        Some(Figures::Machine(machine)) => format!("{} machine", word(machine.action())),
        Some(Figures::Towel(towel)) => format!("towel {} g/m²", towel.weight_g_per_m2),
        Some(Figures::Liquid(liquid)) => format!(
            "{} liquid, {} a bottle",
            word(liquid.grade()),
            amount::volume(liquid.bottle_ul)
        ),
        Some(Figures::Sundry(sundry)) => format!(
            "sundry, {} a pack",
            amount::quantity(sundry.pack_quantity, sundry.unit())
        ),
        Some(Figures::Tool(tool)) => format!("tool, {}", word(tool.kind())),
        Some(Figures::Battery(_)) => "battery".to_owned(),
        None => String::new(),
    }
}

fn there(row: &Understood) -> String {
    let pieces = row.pieces.iter().map(piece);
    let told = pieces.collect::<Vec<_>>().join("; ");
    match row.pieces.first().map(|piece| piece.place.as_str()) {
        Some(place) if !place.is_empty() => format!("{told} at {place}"),
        _ => told,
    }
}

/// Pieces that are alike.
fn piece(piece: &StartPiece) -> String {
    if piece.towel_count > 0 {
        return several(piece.towel_count, "towel", "towels");
    }
    let count = piece.piece_count.max(1);
    let jobs = piece.job_count.map(|jobs| several(jobs, "job", "jobs"));
    let share = piece
        .full_permille
        .map(|permille| format!("{} full", amount::percent(permille)));
    let volume = piece
        .volume_ul
        .map(|ul| format!("{} left", amount::volume(ul)));
    let weight = piece
        .gross_mg
        .map(|mg| format!("{} on the scale", amount::mass(mg)));
    let quantity = piece.quantity.map(|_| "what is left of one".to_owned());
    let more = jobs.or(share).or(volume).or(weight).or(quantity);
    more.map_or_else(|| count.to_string(), |more| format!("{count}, {more}"))
}

fn price(row: &Understood) -> String {
    let Some(said) = &row.price else {
        return String::new();
    };
    let price = amount::money_or(said.price.as_ref(), "");
    match said.pack_count {
        Some(pack) if pack > 1 => format!("{price} for {pack}"),
        _ => price,
    }
}
