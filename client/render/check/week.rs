//! A week of jobs: of each its verdict and the first thing to do, by when.

use fettlebook_contract::v1::{CheckJobsResponse, JobCheck, Verdict};

use super::items::{first_thing, of_check};
use super::verdict::{VERDICT_WIDTH, goes_on, tinted};
use super::{cautions, line_count, lines_max};
use crate::render::screen::{Screen, several, verdict_of};
use crate::render::{gauge, tint};
use crate::word::word;

/// The jobs in order of start, as many as fit, and the verdict in all.
pub(crate) fn show(screen: &Screen, answer: &CheckJobsResponse) -> String {
    let foot = foot(screen, answer);
    let room = lines_max(screen).saturating_sub(line_count(&foot));
    let told: Vec<String> = answer
        .checks
        .iter()
        .map(|check| job(screen, check))
        .collect();
    // As many as fit with a line that names the others, and one in any case.
    let page = |count: usize| -> Vec<String> {
        let left_out = answer.checks.get(count..).unwrap_or_default();
        let told = told.iter().take(count).cloned();
        told.chain(others(screen, left_out)).collect()
    };
    let fits = |page: &Vec<String>| page.iter().map(|line| line_count(line)).sum::<usize>() <= room;
    let pages = (1..=told.len()).rev().map(page);
    let mut lines = pages.clone().find(fits).unwrap_or_else(|| page(1));
    lines.push(foot);
    lines.join("\n")
}

fn job(screen: &Screen, check: &JobCheck) -> String {
    let verdict = verdict_of(check.verdict);
    let gap = " ".repeat(VERDICT_WIDTH.saturating_sub(word(verdict).len()));
    let rest = " ".repeat(VERDICT_WIDTH);
    let when = screen.moment_or(check.start_time.as_ref(), "no start");
    let mut head = format!("{when}  {}  {}", tint::strong(&check.job), check.place);
    head.push_str(&goes_on(screen, check));
    if let Some(chance) = check.carry_chance {
        head.push_str(&format!("  {}", gauge::chance(chance, check.carry_target)));
    }
    let mut text = screen.hung(&format!("{}{gap}", tinted(verdict)), &rest, &head);
    if let Some(told) = first_thing(&of_check(check)) {
        text.push('\n');
        text.push_str(&screen.hung(&format!("{rest}→ "), &format!("{rest}  "), &told));
    }
    text
}

/// Jobs that do not fit, the gravest named.
fn others(screen: &Screen, left_out: &[JobCheck]) -> Option<String> {
    let of = |verdict: Verdict| {
        let jobs: Vec<&str> = left_out
            .iter()
            .filter(|check| check.verdict() == verdict)
            .map(|check| check.job.as_str())
            .collect();
        (!jobs.is_empty()).then(|| format!("{}: {}", word(verdict), jobs.join(", ")))
    };
    let verdicts = [Verdict::Stop, Verdict::Watch, Verdict::Go];
    let told: Vec<String> = verdicts.into_iter().filter_map(of).collect();
    (!left_out.is_empty()).then(|| {
        let jobs = i64::try_from(left_out.len()).unwrap_or(i64::MAX);
        let head = format!("and {}, ", several(jobs, "more job", "more jobs"));
        screen.hung(&head, "  ", &format!("{}.", told.join(". ")))
    })
}

/// What the checks take for granted, the hazards, and the verdict in all.
fn foot(screen: &Screen, answer: &CheckJobsResponse) -> String {
    let mut blocks = Vec::new();
    if !answer.assumption.is_empty() {
        blocks.push(screen.hung("", "", &answer.assumption));
    }
    blocks.push(cautions::hazards(screen, &answer.checks));
    blocks.push(format!("{} in all.", tinted(verdict_of(answer.verdict))));
    blocks.retain(|block| !block.is_empty());
    blocks.join("\n")
}
