//! What a machine works of a shared step that takes a finer one.
//!
//! Serves the machine lines of the check. A step that nobody shares is worked as its routine says, and nothing
//! is said of it.

use super::line::{Line, Verdict};
use crate::ground::ids::list;
use crate::ready::plan::StepPlan;
use crate::trade::reach::Reach;

/// Watches what it works that takes a finer machine, of which those that share the step have none.
pub(super) fn say(line: &mut Line, planned: &StepPlan) {
    for wanted in [Reach::Spot, Reach::Pencil, Reach::Hand] {
        let panels = planned.takes_finer.iter();
        let panels = panels.filter(|(_, reach)| *reach == wanted);
        let panels: Vec<_> = panels.map(|(panel, _)| *panel).collect();
        if panels.is_empty() {
            continue;
        }
        let (step, panels) = (&planned.of, list(&panels));
        line.raise(
            Verdict::Watch,
            format!("Nothing of reach {wanted} shares {step}: this works {panels} too."),
        );
        line.todo(format!(
            "Mind edges and tight radii there; have something of reach {wanted} share {step}, or leave \
             {panels} out."
        ));
    }
}
