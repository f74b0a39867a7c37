//! How a device kept a deed, from the wire.
//!
//! It serves the requests that can be kept. Who reports it is not part of the message: that is whoever
//! sent it.

use fettlebook_contract::v1;
use fettlebook_model::kept::{Kept, KeptMark};
use fettlebook_model::{Refusal, Seq};

use super::moment;

/// The letter of the tags that a device gives itself.
pub(in crate::edge) fn tag_letter(field: &str, sent: &str) -> Result<Option<char>, Refusal> {
    let mut letters = sent.chars();
    match (letters.next(), letters.next()) {
        (None, _) => Ok(None),
        (Some(letter), None) if letter.is_ascii_uppercase() => Ok(Some(letter)),
        _ => Err(Refusal::invalid(
            field,
            "That is not a letter of tags.",
            "Give the one letter, A to Z, that the service told this device, or none.",
        )),
    }
}

pub(super) fn kept(sent: &v1::Kept) -> Result<Kept, Refusal> {
    if sent.number < 1 {
        return Err(Refusal::quantity(
            "kept.number",
            format!("`kept.number` is {}; it is at least 1.", sent.number),
            "Number the deeds of a device from 1, without a gap.",
        ));
    }
    let seen = u64::try_from(sent.seen_seq).map_err(|_| {
        Refusal::quantity(
            "kept.seen_seq",
            format!("`kept.seen_seq` is {}; it is at least 0.", sent.seen_seq),
            "Give the last entry of the book that the device had seen; 0 for none.",
        )
    })?;
    let kept_at = moment("kept.kept_time", sent.kept_time)?.ok_or_else(|| {
        Refusal::missing(
            "kept.kept_time",
            "Give the time by the clock of the device.",
        )
    })?;
    Ok(Kept {
        mark: KeptMark {
            number: sent.number,
            seen: Seq(seen),
            kept_at,
        },
        by: String::new(),
        tag_letter: tag_letter("kept.tag_letter", &sent.tag_letter)?,
    })
}
