//! A picked piece as a field of a form carries it, so that what was on the page is what is recorded.

use fettlebook_contract::v1::PickedPiece;

/// What parts a picked piece in its field. None of job, tag, step and number has it.
const PART: char = '~';

/// A picked piece in a field.
pub(super) fn packed(piece: &PickedPiece) -> String {
    let spare = if piece.spare { "spare" } else { "" };
    let (tag, step, quantity) = (&piece.tag, &piece.step, piece.quantity);
    format!("{tag}{PART}{step}{PART}{quantity}{PART}{spare}")
}

/// The piece in a field; nothing where the field is not whole.
pub(super) fn unpacked(text: &str) -> Option<PickedPiece> {
    let mut parts = text.split(PART);
    let (tag, step) = (parts.next()?, parts.next()?);
    let (quantity, spare) = (parts.next()?, parts.next()?);
    Some(PickedPiece {
        tag: tag.to_owned(),
        step: step.to_owned(),
        quantity: quantity.parse().ok()?,
        spare: spare == "spare",
    })
}

/// A picked piece in a field, behind the job that it is for.
pub(super) fn packed_for(job: &str, piece: &PickedPiece) -> String {
    format!("{job}{PART}{}", packed(piece))
}

/// The job and the piece in a field.
pub(super) fn unpacked_for(text: &str) -> Option<(&str, PickedPiece)> {
    let (job, piece) = text.split_once(PART)?;
    Some((job, unpacked(piece)?))
}
