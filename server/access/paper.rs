//! What a paper of the cabinet holds, as JSON.

use serde::Serialize;
use serde::de::DeserializeOwned;

use super::AccessError;
use crate::store::{Cabinet, Paper};

/// Writes what a paper holds.
pub(super) fn write(
    cabinet: &dyn Cabinet,
    paper: Paper,
    held: &impl Serialize,
) -> Result<(), AccessError> {
    let mut text = serde_json::to_vec_pretty(held).map_err(|error| AccessError::Disk {
        path: cabinet.place(paper),
        action: "written",
        why: error.to_string(),
    })?;
    text.push(b'\n');
    Ok(cabinet.write(paper, &text)?)
}

/// Reads what a paper holds; nothing where there is none.
pub(super) fn read<T: DeserializeOwned>(
    cabinet: &dyn Cabinet,
    paper: Paper,
) -> Result<Option<T>, AccessError> {
    let Some(text) = cabinet.read(paper)? else {
        return Ok(None);
    };
    let held = serde_json::from_slice(&text);
    held.map(Some)
        .map_err(|error| damaged(cabinet, paper, error.to_string()))
}

/// Refuses a paper that is laid out otherwise than this program knows.
pub(super) fn check_format(
    cabinet: &dyn Cabinet,
    paper: Paper,
    format: u32,
    known: u32,
) -> Result<(), AccessError> {
    if format == known {
        return Ok(());
    }
    let what = format!("it has format {format}, and this program knows format {known}");
    Err(damaged(cabinet, paper, what))
}

fn damaged(cabinet: &dyn Cabinet, paper: Paper, what: String) -> AccessError {
    AccessError::Damaged {
        path: cabinet.place(paper),
        what,
    }
}
