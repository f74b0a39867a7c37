//! Which entries touched a subject, and which entry answered a request, as bytes.
//!
//! It serves the indexes of the shelf. The entries of one batch that touched one subject are kept
//! in one value, because a value costs far more than a number in it. No two values of a subject
//! may overlap.

use fettlebook_model::{BodyHash, Seq};

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

/// What is kept for a request: the number of its entry and the hash of its body.
pub(super) fn answer(seq: Seq, body: BodyHash) -> [u8; 24] {
    let mut bytes = [0; 24];
    let (number, hash) = bytes.split_at_mut(8);
    number.copy_from_slice(&seq.0.to_be_bytes());
    hash.copy_from_slice(&body.0);
    bytes
}

/// The number and the hash again.
pub(super) fn decode_answer(bytes: &[u8]) -> Result<(Seq, BodyHash), ShelfError> {
    let damaged = || ShelfError::Damaged("an answer on it has another length".to_owned());
    let (number, hash) = bytes.split_first_chunk::<8>().ok_or_else(damaged)?;
    let hash = hash.try_into().map_err(|_| damaged())?;
    Ok((Seq(u64::from_be_bytes(*number)), BodyHash(hash)))
}
