//! A page of the book for a device to look at while it has no signal.
//!
//! It serves `CopyEntries`. An entry goes out as the journal has it, or without prices for whoever may
//! not see those, and either way with what this program does not know of it.

use fettlebook_contract::v1::CopyEntriesResponse;

use super::prices::Prices;
use super::show;
use super::status::EdgeError;
use crate::desk::{Desk, DeskError};
use crate::limits::COPY_BYTES_MAX;

/// A page of so many entries as fit, at least one where there is one.
pub(super) fn page(
    desk: &Desk,
    entries: Vec<Vec<u8>>,
    prices: Prices,
) -> Result<CopyEntriesResponse, EdgeError> {
    let standing = desk.standing();
    let mut byte_count = 0;
    let mut page = Vec::new();
    for entry in entries {
        let bytes = prices.of_bytes(entry).map_err(|why| DeskError::Damaged {
            what: format!("an entry {why}"),
        })?;
        byte_count += bytes.len();
        if byte_count > COPY_BYTES_MAX && !page.is_empty() {
            break;
        }
        page.push(bytes);
    }
    Ok(CopyEntriesResponse {
        entries: page,
        book_id: standing.identity.book_id.to_string(),
        incarnation_id: standing.identity.incarnation_id.to_string(),
        head_seq: show::seq(standing.head.seq),
        as_of_time: Some(show::moment(desk.now())),
    })
}
