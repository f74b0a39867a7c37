//! Changing the book's policies.
//!
//! Serves a shop that works by its own figures. Changes are taken all or none, and a value outside
//! its range is never stored.

use crate::book::deed::Deed;
use crate::decide::Decision;
use crate::decide::bounds::note;
use crate::ground::refusal::Refusal;
use crate::trade::policy::PolicyKey;
use crate::{Book, Moment};

/// Sets policies; no value means back to the default.
pub(in crate::decide) fn set(
    book: &Book,
    changes: &[(PolicyKey, Option<i64>)],
    said: &str,
    now: Moment,
) -> Result<Decision, Refusal> {
    note(said)?;
    if changes.is_empty() {
        return Err(Refusal::missing(
            "changes",
            "Name at least one policy and its value.",
        ));
    }
    let mut trial = book.policy().clone();
    for (key, value) in changes {
        trial
            .set(*key, value.unwrap_or_else(|| key.spec().default))
            .map_err(|error| {
                Refusal::quantity(&format!("changes.{key}"), format!("{error}."), "")
            })?;
    }
    let deeds = changes
        .iter()
        .map(|(key, value)| Deed::PolicySet {
            key: *key,
            value: *value,
        })
        .collect();
    Ok(Decision {
        note: said.to_owned(),
        ..Decision::now(deeds, now)
    })
}
