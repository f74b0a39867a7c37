//! Changing the book's policies.
//!
//! Serves a shop that works by its own figures. Changes are taken all or none, and a value outside
//! its range is never stored.

use crate::book::deed::Deed;
use crate::decide::Decision;
use crate::decide::bounds::note;
use crate::ground::refusal::Refusal;
use crate::trade::policy::{Policy, PolicyKey};
use crate::{Book, Moment};

/// Two keys for one figure: setting one takes the other back, so that the last one said holds.
const SAME_FIGURE: (PolicyKey, PolicyKey) = (PolicyKey::TaxPermille, PolicyKey::TaxMilliPercent);

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
    let also = other_key(&trial, changes)?;
    for (key, value) in changes {
        trial
            .set(*key, value.unwrap_or_else(|| key.spec().default))
            .map_err(|error| {
                Refusal::quantity(&format!("changes.{key}"), format!("{error}."), "")
            })?;
    }
    let deeds = changes
        .iter()
        .copied()
        .chain(also.map(|key| (key, None)))
        .map(|(key, value)| Deed::PolicySet { key, value })
        .collect();
    Ok(Decision {
        note: said.to_owned(),
        ..Decision::now(deeds, now)
    })
}

/// The key that goes back because the figure it says is set by its other key; none where it is not set.
fn other_key(
    policy: &Policy,
    changes: &[(PolicyKey, Option<i64>)],
) -> Result<Option<PolicyKey>, Refusal> {
    let (coarse, fine) = SAME_FIGURE;
    let sets = |key: PolicyKey| changes.iter().any(|(set, _)| *set == key);
    let other = match (sets(coarse), sets(fine)) {
        (true, true) => {
            return Err(Refusal::invalid(
                &format!("changes.{fine}"),
                format!("{coarse} and {fine} are two ways to say one rate."),
                "Set one of them.",
            ));
        }
        (true, false) => fine,
        (false, true) => coarse,
        (false, false) => return Ok(None),
    };
    let is_set = policy.value(other) != other.spec().default;
    Ok(is_set.then_some(other))
}
