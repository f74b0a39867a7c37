//! The steps of a job on its two days, in order: a step is worked on one of them, with all that share it.

use super::StepPlan;
use crate::ground::ids::Id;
use crate::trade::job::{Routine, SecondDay};

/// Says of each part of a plan whether it is worked on the second day.
pub(super) fn lay(parts: &mut [StepPlan], routine: &Routine, second: &SecondDay) {
    let steps: Vec<(Id, i64)> = routine
        .steps
        .iter()
        .map(|step| {
            let own = parts.iter().filter(|part| part.of == step.name);
            let time_ms = own.fold(0_i64, |sum, part| sum.saturating_add(part.time_ms));
            (step.name.clone(), time_ms)
        })
        .collect();
    let said = second.from_step.as_ref();
    let said = said.and_then(|from| steps.iter().position(|(step, _)| step == from));
    let from = said.unwrap_or_else(|| halfway(&steps));
    for part in parts {
        let at = steps.iter().position(|(step, _)| *step == part.of);
        part.second_day = at.is_some_and(|at| at >= from);
    }
}

/// The step before which the time of all is parted most evenly; none of two is left without one.
fn halfway(steps: &[(Id, i64)]) -> usize {
    let times = steps.iter().map(|(_, ms)| *ms);
    let whole = times.clone().fold(0_i64, i64::saturating_add);
    let mut before = 0_i64;
    let parted = (1..steps.len()).zip(times).map(|(at, last)| {
        before = before.saturating_add(last);
        let off = before.saturating_mul(2).saturating_sub(whole);
        (off.saturating_abs(), at)
    });
    parted.min().map_or(steps.len(), |(_, at)| at)
}
