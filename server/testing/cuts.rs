//! How many cuts of power each kind of trial makes.

/// Kinds of trials: the journal's end, its segments, the shelf, the outbox, the access folder.
const KINDS: u64 = 5;

/// Cuts without `FETTLEBOOK_CUTS`, in all.
const CUTS: u64 = 200;

/// Cuts of each kind; `FETTLEBOOK_CUTS` says how many in all.
pub(crate) fn cuts_of_each() -> u64 {
    let asked = std::env::var("FETTLEBOOK_CUTS").ok();
    let cuts = asked.and_then(|text| text.parse().ok()).unwrap_or(CUTS);
    cuts.div_ceil(KINDS)
}
