//! The carry chance of a job: what its lines say together, held against the target.
//!
//! Serves the check. Chances that are below the target make a line worth watching; they never stop
//! a job, since only what is missing or must not be used does.

use super::line::{Line, Verdict};

/// The product of the lines' chances; `None` when no line has one. Below the target the lines that
/// weigh most are watched.
pub(super) fn of_job(lines: &mut [Line], target: f64) -> Option<f64> {
    let weakest = lines
        .iter()
        .filter_map(chance_of_enough)
        .min_by(f64::total_cmp);
    let chances = lines.iter().filter_map(|line| line.chance);
    let whole = chances.reduce(|whole, chance| whole * chance)?;
    if whole < target {
        for line in lines.iter_mut() {
            let Some(chance) = chance_of_enough(line) else {
                continue;
            };
            // Those already below the target alone, and in any case the weakest.
            if chance < target || weakest.is_some_and(|weakest| chance <= weakest) {
                line.raise(Verdict::Watch, say(chance));
            }
        }
    }
    Some(whole)
}

/// The chance of a line that is not short: of one that is, enough is said.
fn chance_of_enough(line: &Line) -> Option<f64> {
    line.chance.filter(|_| line.short == 0)
}

/// A chance as the reason of a line.
fn say(chance: f64) -> String {
    let percent = chance * 100.0;
    if percent < 1.0 {
        "It carries the job less than 1 time in 100.".to_owned()
    } else if percent > 99.0 {
        "It carries the job more than 99 times in 100.".to_owned()
    } else {
        format!("It carries the job {percent:.0} times in 100.")
    }
}
