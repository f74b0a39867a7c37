//! How a device kept a deed, from the wire.
//!
//! It serves the requests that can be kept. Who reports it is not part of the message: that is whoever
//! sent it.

use std::collections::BTreeSet;

use fettlebook_contract::v1;
use fettlebook_model::kept::{Kept, KeptMark, SeenLevel};
use fettlebook_model::{Refusal, Seq};

use super::{moment, tag};

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
    let levels = sent.levels.iter().map(seen_level);
    let levels = levels.collect::<Result<Vec<_>, _>>()?;
    let mut named = BTreeSet::new();
    if let Some(twice) = levels.iter().find(|level| !named.insert(level.tag)) {
        return Err(Refusal::invalid(
            "kept.levels.tag",
            format!("{} is named twice.", twice.tag),
            "Name it once.",
        ));
    }
    Ok(Kept {
        mark: KeptMark {
            number: sent.number,
            seen: Seq(seen),
            kept_at,
        },
        levels,
        by: String::new(),
    })
}

/// Most of a sundry or a liquid that may have been seen, and as much below nothing: what is booked as
/// used may be more than there was.
const QUANTITY_SEEN_MAX: i64 = 1_000_000_000_000;
/// Most towels that may have been seen.
const TOWELS_SEEN_MAX: i64 = 10_000;

fn seen_level(sent: &v1::SeenLevel) -> Result<SeenLevel, Refusal> {
    for (field, seen, most) in [
        ("kept.levels.quantity", sent.quantity, QUANTITY_SEEN_MAX),
        ("kept.levels.clean_count", sent.clean_count, TOWELS_SEEN_MAX),
        (
            "kept.levels.soiled_count",
            sent.soiled_count,
            TOWELS_SEEN_MAX,
        ),
        (
            "kept.levels.drying_count",
            sent.drying_count,
            TOWELS_SEEN_MAX,
        ),
    ] {
        if let Some(seen) = seen.filter(|seen| !(-most..=most).contains(seen)) {
            return Err(Refusal::quantity(
                field,
                format!(
                    "`{field}` of {} is {seen}, more than there can be.",
                    sent.tag
                ),
                "Give what the device's copy of the book said was left.",
            ));
        }
    }
    Ok(SeenLevel {
        tag: tag("kept.levels.tag", &sent.tag)?,
        quantity: sent.quantity,
        clean_count: sent.clean_count,
        soiled_count: sent.soiled_count,
        drying_count: sent.drying_count,
    })
}
