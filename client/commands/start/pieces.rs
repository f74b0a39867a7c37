//! The pieces of a starter kit: as many as such a kit usually has, or as somebody says.

use fettlebook_contract::v1::make::Figures;
use fettlebook_contract::v1::{Make, StartPiece, StarterKit, StarterMake};

use crate::said::bottles::{self, Left};
use crate::said::packs::{self, Packs};
use crate::said::pads::{self, Pads};

/// What the kit usually has and the book does not.
pub(super) fn usual(kit: &StarterKit, place: Option<&str>) -> Vec<StartPiece> {
    let rows = kit.makes.iter().flat_map(|one| {
        let make = one.make.clone().unwrap_or_default();
        read(&make, &usually(one)).unwrap_or_default()
    });
    rows.map(|piece| at(piece, place)).collect()
}

/// A row at a place.
pub(super) fn at(mut piece: StartPiece, place: Option<&str>) -> StartPiece {
    piece.place = place.unwrap_or_default().to_owned();
    piece
}

/// How somebody would say what is usual of a make and not there yet.
pub(super) fn usually(one: &StarterMake) -> String {
    let missing = one.usual_count.saturating_sub(one.held_count).max(0);
    let figures = one.make.as_ref().and_then(|make| make.figures.as_ref());
    match figures {
        _ if missing == 0 => "none".to_owned(),
        Some(Figures::Liquid(_)) => "full".to_owned(),
        _ => missing.to_string(),
    }
}

/// The rows of what somebody says there is of a make.
///
/// # Errors
/// A sentence that says how it is written.
pub(super) fn read(make: &Make, text: &str) -> Result<Vec<StartPiece>, String> {
    let row = || StartPiece {
        make: make.make.clone(),
        ..StartPiece::default()
    };
    let rows = match &make.figures {
        Some(Figures::Pad(_)) => {
            let pads = pads::read(text)?.into_iter();
            pads.map(|Pads { count, jobs }| StartPiece {
                piece_count: count,
                job_count: (jobs > 0).then_some(jobs),
                ..row()
            })
            .collect()
        }
        Some(Figures::Liquid(_)) => {
            let bottles = alike(bottles::read(text)?).into_iter();
            bottles
                .map(|(left, piece_count)| {
                    left.put(StartPiece {
                        piece_count,
                        ..row()
                    })
                })
                .collect()
        }
        Some(Figures::Towel(_)) => {
            let bundles = packs::towels(text)?.into_iter();
            bundles
                .map(|towel_count| StartPiece {
                    towel_count,
                    ..row()
                })
                .collect()
        }
        Some(Figures::Sundry(sundry)) => {
            let packs = packs::read(text, sundry.unit(), sundry.pack_quantity)?.into_iter();
            packs
                .map(|Packs { count, quantity }| StartPiece {
                    piece_count: count,
                    quantity,
                    ..row()
                })
                .collect()
        }
        _ => {
            let pads = pads::read(text)?;
            let counts = pads.iter().map(|pads| pads.count);
            let count: i64 = counts.sum();
            Vec::from_iter((count > 0).then(|| StartPiece {
                piece_count: count,
                ..row()
            }))
        }
    };
    Ok(rows)
}

/// Bottles that hold as much as each other, in a row, with how many they are.
fn alike(bottles: Vec<Left>) -> Vec<(Left, i64)> {
    let mut counted: Vec<(Left, i64)> = Vec::new();
    for left in bottles {
        match counted.last_mut() {
            Some((last, count)) if *last == left => *count = count.saturating_add(1),
            _ => counted.push((left, 1)),
        }
    }
    counted
}
