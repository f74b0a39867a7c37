//! Which entries touched a subject, and which entry answered a request, as bytes.
//!
//! It serves the indexes of the shelf. The entries of one batch that touched one subject are kept
//! in one value, because a value costs far more than a number in it. No two values of a subject
//! may overlap.

use fettlebook_model::{BodyHash, Seq};
use uuid::Uuid;

use super::ShelfError;
use super::mark::{decode, encode};

/// Key of the entries of a batch that touched a subject: its key, a zero, the first number.
pub(super) fn key(subject: &[u8], first: Seq) -> Vec<u8> {
    let mut key = prefix(subject);
    key.extend_from_slice(&first.0.to_be_bytes());
    key
}

/// What all keys of a subject begin with. A subject's key holds no zero byte.
pub(super) fn prefix(subject: &[u8]) -> Vec<u8> {
    let mut key = Vec::with_capacity(subject.len() + 9);
    key.extend_from_slice(subject);
    key.push(0);
    key
}

/// Numbers in rising order, each as its distance from the one before.
pub(super) fn encode_numbers(first: Seq, seqs: &[Seq]) -> Result<Vec<u8>, ShelfError> {
    let mut before = first.0;
    let steps: Vec<u64> = seqs
        .iter()
        .map(|seq| {
            let step = seq.0.saturating_sub(before);
            before = seq.0;
            step
        })
        .collect();
    encode(&steps)
}

/// The numbers again.
pub(super) fn decode_numbers(key: &[u8], value: &[u8]) -> Result<Vec<Seq>, ShelfError> {
    let damaged = || ShelfError::Damaged("an index key on it is too short".to_owned());
    let (_, first) = key.split_last_chunk::<8>().ok_or_else(damaged)?;
    let mut at = u64::from_be_bytes(*first);
    let steps: Vec<u64> = decode(value)?;
    Ok(steps
        .into_iter()
        .map(|step| {
            at = at.saturating_add(step);
            Seq(at)
        })
        .collect())
}

/// Bytes kept for one request: its id, the number of its entry, the hash of its body.
const ROW_BYTES: usize = 16 + 8 + 16;

/// Most requests in one value, which keeps it well under the store's 7 kB for a fast one.
const ROWS_MAX: usize = 128;

/// What the keys of a request begin with: the millisecond it was made in for an id that begins
/// with it (version 7), else the whole id. Requests of one batch and one bucket share a value.
pub(super) fn bucket(request: &Uuid) -> &[u8] {
    let id = request.as_bytes();
    match id.split_first_chunk::<6>() {
        Some((made_in, _)) if request.get_version_num() == 7 => made_in,
        _ => id,
    }
}

/// Adds a request to the value of its bucket.
pub(super) fn add_row(rows: &mut Vec<u8>, request: Uuid, seq: Seq, body: BodyHash) {
    rows.extend_from_slice(request.as_bytes());
    rows.extend_from_slice(&seq.0.to_be_bytes());
    rows.extend_from_slice(&body.0);
}

/// True when a value can take no more requests.
pub(super) const fn is_full(rows: &[u8]) -> bool {
    rows.len() >= ROWS_MAX * ROW_BYTES
}

/// The number and the hash kept for a request, if this value has it.
pub(super) fn find_row(rows: &[u8], request: Uuid) -> Option<(Seq, BodyHash)> {
    let row = rows
        .chunks_exact(ROW_BYTES)
        .find(|row| row.starts_with(request.as_bytes()))?;
    let (number, hash) = row.get(16..)?.split_first_chunk::<8>()?;
    Some((
        Seq(u64::from_be_bytes(*number)),
        BodyHash(hash.try_into().ok()?),
    ))
}
