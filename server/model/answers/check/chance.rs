//! The carry chance of a job: what its lines say together, held against the target.
//!
//! Serves the check. Chances that are below the target make a line worth watching; they never stop
//! a job, since only what is missing or must not be used does.

use super::line::{Line, Verdict};
use crate::maths::chance::{Precision, StepAhead, carry_chance_of_steps};
use crate::ready::pick::PadsAhead;

/// The chance of all lines together; `None` when no line has one. Where those that are not short are
/// below the target, the ones that weigh most are watched: those below `share`, the part of it that each
/// line should have, and in any case the weakest.
pub(super) fn of_job(
    lines: &mut [Line],
    target: f64,
    share: f64,
    severity_log_sd: f64,
) -> Option<f64> {
    let whole = together(&mut lines.iter(), severity_log_sd)?;
    let is_short = |line: &Line| line.short > 0 && line.chance.is_some();
    let enough = if lines.iter().any(is_short) {
        let mut enough = lines.iter().filter(|line| line.short == 0);
        together(&mut enough, severity_log_sd)
    } else {
        Some(whole)
    };
    let is_below = enough.is_some_and(|enough| enough < target);
    let chances = lines.iter().filter_map(chance_of_enough);
    let weakest = chances.fold(f64::INFINITY, f64::min);
    for line in lines.iter_mut() {
        if let Some(chance) = chance_of_enough(line)
            && is_below
            && (chance < share || chance <= weakest)
        {
            line.raise(Verdict::Watch, say(chance));
        }
    }
    Some(whole)
}

/// The chance of some lines: pads of all steps under one severity, since a hard job is hard on all of
/// them, times that of each other line.
pub(super) fn together(
    lines: &mut dyn Iterator<Item = &Line>,
    severity_log_sd: f64,
) -> Option<f64> {
    let (pads, others): (Vec<&Line>, Vec<&Line>) = lines
        .filter(|line| line.chance.is_some())
        .partition(|line| line.ahead.is_some());
    let steps: Vec<StepAhead<'_>> = pads
        .iter()
        .filter_map(|line| line.ahead.as_ref())
        .map(PadsAhead::step)
        .collect();
    let of_pads = match pads.as_slice() {
        [] => None,
        [only] => only.chance,
        _ => Some(carry_chance_of_steps(
            &steps,
            severity_log_sd,
            Precision::Fine,
        )),
    };
    let of_others = others.iter().filter_map(|line| line.chance);
    of_pads
        .into_iter()
        .chain(of_others)
        .reduce(|all, one| all * one)
}

/// The chance of a line that is not short: of one that is, enough is said.
fn chance_of_enough(line: &Line) -> Option<f64> {
    line.chance.filter(|_| line.short == 0)
}

/// A chance as the reason of a line.
fn say(chance: f64) -> String {
    format!("It carries the job {}.", times_in_100(chance))
}

/// A chance as people say it.
pub(super) fn times_in_100(chance: f64) -> String {
    let percent = chance * 100.0;
    if percent < 1.0 {
        "less than 1 time in 100".to_owned()
    } else if percent > 99.0 {
        "more than 99 times in 100".to_owned()
    } else {
        format!("{percent:.0} times in 100")
    }
}
