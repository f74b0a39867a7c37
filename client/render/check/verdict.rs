//! What a check says in all, and that its job was taken: sentences that every form of it has.

use fettlebook_contract::v1::{CheckJobsResponse, JobCheck, Verdict};

use crate::render::screen::{Screen, verdict_of};
use crate::render::{gauge, tint};
use crate::word::word;

/// Columns of a verdict's word, with what stands between it and what it is about.
pub(super) const VERDICT_WIDTH: usize = 7;

/// The word of a verdict, in its colour.
pub(crate) fn tinted(verdict: Verdict) -> String {
    let word = word(verdict);
    match verdict {
        Verdict::Go => tint::good(&word),
        Verdict::Watch => tint::warn(&word),
        Verdict::Stop => tint::bad(&word),
        Verdict::Unspecified => word,
    }
}

/// What the verdict of a job means, above the lines that are not *go*.
pub(crate) fn sentence(check: &JobCheck) -> String {
    let chance = carried(check);
    match verdict_of(check.verdict) {
        Verdict::Go => format!("the kit carries it{chance}."),
        Verdict::Watch => format!("the kit carries it{chance}; watch this:"),
        Verdict::Stop => format!("not before this is mended.{}", as_it_stands(check)),
        Verdict::Unspecified => "nothing is said about it.".to_owned(),
    }
}

/// That the pick was taken, what was passed then, and that it is not logged.
pub(crate) fn taken(screen: &Screen, check: &JobCheck) -> Vec<String> {
    let Some(taken) = &check.taken else {
        return Vec::new();
    };
    let when = screen.moment_or(taken.taken_time.as_ref(), "");
    let seq = taken.seq;
    let mut lines = vec![format!(
        "Taken {when}, entry {seq}: this is the check of that pick."
    )];
    if !taken.despite.is_empty() {
        let flagged = tint::warn("Taken despite stop: ");
        let passed = taken.passed.join(" ");
        let despite = taken.despite.trim_end_matches('.');
        lines.push(screen.hung(&flagged, "  ", &format!("{despite}. Passed: {passed}")));
    }
    if taken.unlogged {
        let job = &check.job;
        let todo = format!(
            "it started two days ago or more. 'fettle log {job}' records it, 'fettle take {job} \
             --release' gives the pick back."
        );
        lines.push(screen.hung(&tint::warn("Not logged: "), "  ", &todo));
    }
    lines
}

/// The verdict in all, last on the page.
pub(super) fn overall(screen: &Screen, answer: &CheckJobsResponse) -> String {
    let sentences: Vec<_> = answer
        .checks
        .iter()
        .map(|check| {
            let verdict = verdict_of(check.verdict);
            let head = format!("{}: ", tinted(verdict));
            screen.hung(&head, "  ", &told(check, verdict))
        })
        .collect();
    let mut text = sentences.join("\n");
    if answer.checks.len() > 1 {
        let verdict = verdict_of(answer.verdict);
        text.push_str(&format!("\n{} in all.", tinted(verdict)));
    }
    text
}

fn told(check: &JobCheck, verdict: Verdict) -> String {
    let mut marked: Vec<&str> = Vec::new();
    for line in check.lines.iter().filter(|line| line.verdict() == verdict) {
        if !marked.contains(&line.what.as_str()) {
            marked.push(&line.what);
        }
    }
    let named = marked.join("; ");
    let chance = carried(check);
    let job = &check.job;
    match verdict {
        Verdict::Go => format!("the kit carries {job}{chance}."),
        Verdict::Watch => format!("the kit carries {job}{chance}; keep an eye on: {named}."),
        Verdict::Stop => {
            let stands = as_it_stands(check);
            format!("do not start {job} before this is mended: {named}.{stands}")
        }
        Verdict::Unspecified => format!("nothing is said about {job}."),
    }
}

/// The carry chance of a job as a part of a sentence.
pub(crate) fn carried(check: &JobCheck) -> String {
    beside_the_aim(check).map_or_else(String::new, |told| format!(", carry chance {told}"))
}

/// The carry chance of a job that is stopped, a sentence of its own.
fn as_it_stands(check: &JobCheck) -> String {
    beside_the_aim(check).map_or_else(String::new, |told| {
        format!(" Carry chance as it stands: {told}.")
    })
}

fn beside_the_aim(check: &JobCheck) -> Option<String> {
    check.carry_chance.map(|chance| {
        format!(
            "{} (you aim at {})",
            gauge::chance(chance, check.carry_target),
            gauge::percent(check.carry_target)
        )
    })
}

/// When a job goes on that takes two days.
pub(super) fn goes_on(screen: &Screen, check: &JobCheck) -> String {
    let second = check.second_start_time.as_ref();
    second.map_or_else(String::new, |start| {
        format!("  goes on {}", screen.moment_or(Some(start), ""))
    })
}
