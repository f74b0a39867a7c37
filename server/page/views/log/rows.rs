//! What a form of a job lists: the pads, bottles and bundles of its pick, and the panels that are worked.

use fettlebook_contract::v1::piece::State;
use fettlebook_contract::v1::{BinReason, GetCarRequest, Job, PickedPiece, Piece};
use fettlebook_quantity::Volume;
use minijinja::{Value, context};
use tonic::Status;

use super::otherwise::{FOUND, LEFT_OUT, SWAP, TOWELS};
use crate::asker::Asker;
use crate::form::Fields;
use crate::words;

/// What can be found of a pad that leaves the kit, but for tearing, which has a tick of its own.
const FOUND_OF_PADS: [BinReason; 5] = [
    BinReason::Peeling,
    BinReason::Cupped,
    BinReason::Glazed,
    BinReason::Matted,
    BinReason::Worn,
];

/// The pads, the bottles and the bundles of a pick, each once.
pub(super) fn kit(picked: &[PickedPiece], pieces: &[Piece], sent: &Fields) -> Value {
    let (mut pads, mut bottles, mut bundles) = (Vec::new(), Vec::new(), Vec::new());
    let mut seen = Vec::new();
    for one in picked {
        if seen.contains(&one.tag.as_str()) {
            continue;
        }
        seen.push(&one.tag);
        let Some(piece) = pieces.iter().find(|piece| piece.tag == one.tag) else {
            continue;
        };
        match &piece.state {
            Some(State::Pad(_)) => pads.push(pad(one, piece, sent)),
            Some(State::Bottle(bottle)) => bottles.push(context! {
                tag => piece.tag.as_str(),
                make => piece.make_name.as_str(),
                left => Volume::from_ul(bottle.left_ul).to_string(),
                typed => sent.first(&format!("gross.{}", piece.tag)),
            }),
            Some(State::Bundle(_)) => bundles.push(context! {
                tag => piece.tag.as_str(),
                make => piece.make_name.as_str(),
                planned => of_bundle(picked, &piece.tag),
                typed => sent.first(&format!("{TOWELS}{}", piece.tag)),
            }),
            _ => {}
        }
    }
    context! {
        pads => pads.into_iter().collect::<Value>(),
        bottles => bottles.into_iter().collect::<Value>(),
        bundles => bundles.into_iter().collect::<Value>(),
    }
}

/// Towels of a bundle in the whole pick.
fn of_bundle(picked: &[PickedPiece], tag: &str) -> i64 {
    picked
        .iter()
        .filter(|one| one.tag == tag)
        .map(|one| one.quantity)
        .sum()
}

fn pad(picked: &PickedPiece, piece: &Piece, sent: &Fields) -> Value {
    let tag = piece.tag.as_str();
    let ticked = |name: &str| sent.all(name).any(|ticked| ticked == tag);
    let found = sent.first(&format!("{FOUND}{tag}"));
    let reasons = FOUND_OF_PADS.iter().map(|reason| {
        let word = words::bin(*reason);
        context! { is_it => word == found, word }
    });
    context! {
        tag,
        make => piece.make_name.as_str(),
        step => picked.step.as_str(),
        spare => picked.spare,
        torn => ticked("torn"),
        dropped => ticked("dropped"),
        reasons => reasons.collect::<Value>(),
        swap => sent.first(&format!("{SWAP}{tag}")),
    }
}

/// What was found of a pad, by its word.
pub(super) fn found(word: &str) -> Option<BinReason> {
    FOUND_OF_PADS
        .into_iter()
        .find(|reason| words::bin(*reason) == word)
}

/// The panels that the job works, each with whether it is said to be left out.
pub(super) async fn panels(asker: &Asker, booked: &Job, sent: &Fields) -> Result<Value, Status> {
    let asked = GetCarRequest {
        car: booked.car.clone(),
    };
    let car = asker.call(asked).await?.car.unwrap_or_default();
    let worked = car
        .panels
        .into_iter()
        .filter(|panel| !panel.left_out && !booked.left_out_panels.contains(&panel.panel));
    let rows = worked.map(|panel| {
        let ticked = sent.all(LEFT_OUT).any(|ticked| ticked == panel.panel);
        context! { said => panel.panel.replace('-', " "), panel => panel.panel, ticked }
    });
    Ok(rows.collect())
}
