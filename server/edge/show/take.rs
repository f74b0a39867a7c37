//! Picks on the wire: the pieces that go to a job, as they are shown and sent back.

use fettlebook_contract::v1;
use fettlebook_model::take::Picked;

pub(in crate::edge) fn picked(picked: &Picked) -> v1::PickedPiece {
    v1::PickedPiece {
        tag: picked.tag.to_string(),
        step: picked
            .step
            .as_ref()
            .map(ToString::to_string)
            .unwrap_or_default(),
        quantity: picked.quantity,
        spare: picked.spare,
    }
}
