//! Steps that several machines share: each panel for one of them, and each of them for something.

use std::collections::BTreeMap;

use super::step_makes_sense;
use crate::Book;
use crate::ground::refusal::Refusal;
use crate::ready::plan::Setup;
use crate::trade::job::Step;
use crate::trade::panel::Panel;
use crate::trade::reach::Reach;

/// Refuses a step whose shares do not go together.
pub(super) fn makes_sense(book: &Book, step: &Step, field: &str) -> Result<(), Refusal> {
    if step.shares.is_empty() {
        return nobody_to_keep_from(step, field);
    }
    each_reach_once(book, step, field)?;
    for share in &step.shares {
        let field = format!("{field}.shares.{}", share.reach);
        step_makes_sense(book, &share.worked, &field)?;
    }
    each_panel_once(step, field)
}

/// Panels are kept for a step's own machine only where others share it.
fn nobody_to_keep_from(step: &Step, field: &str) -> Result<(), Refusal> {
    if step.own_panels.is_empty() {
        return Ok(());
    }
    Err(Refusal::invalid(
        &format!("{field}.own_panels"),
        format!(
            "Nothing shares step {}, so that all of its panels are its own.",
            step.name
        ),
        "Leave these panels out, or name what shares the step.",
    ))
}

/// What two machines reach would be worked by both.
fn each_reach_once(book: &Book, step: &Step, field: &str) -> Result<(), Refusal> {
    let mut seen: Vec<Reach> = vec![Setup::of(book, step, field)?.reach()];
    for share in &step.shares {
        if seen.contains(&share.reach) {
            return Err(Refusal::invalid(
                &format!("{field}.shares.reach"),
                format!(
                    "Two of those that share step {} have the reach {}, and would work the same paint.",
                    step.name, share.reach
                ),
                "Give each another reach: big, spot, pencil or hand; the step's own goes by its machine and pad.",
            ));
        }
        seen.push(share.reach);
    }
    Ok(())
}

/// A panel that is named for one of them is the step's, and is named for no other.
fn each_panel_once(step: &Step, field: &str) -> Result<(), Refusal> {
    let own = (&step.name, format!("{field}.own_panels"), &step.own_panels);
    let shares = step.shares.iter().map(|share| {
        let at = format!("{field}.shares.{}.panels", share.reach);
        (&share.worked.name, at, &share.worked.panels)
    });
    let mut given: BTreeMap<Panel, &str> = BTreeMap::new();
    for (name, at, panels) in std::iter::once(own).chain(shares) {
        for panel in panels {
            if !step.works(*panel) {
                return Err(Refusal::invalid(
                    &at,
                    format!(
                        "Step {} does not work {panel}, so that none of its machines does.",
                        step.name
                    ),
                    format!("Name {panel} among the panels of the step, or not here."),
                ));
            }
            if let Some(other) = given.insert(*panel, name.as_str()) {
                return Err(Refusal::invalid(
                    &at,
                    format!("{panel} is given to {other} and to {name}: it would be worked twice."),
                    "Give it to one of them.",
                ));
            }
        }
    }
    Ok(())
}
