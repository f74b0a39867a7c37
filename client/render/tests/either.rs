//! A check by either of two routines: both verdicts first, then the better one whole.

use std::collections::BTreeSet;

use fettlebook_contract::v1::{CheckJobsResponse, JobCheck, Verdict};
use textwrap::core::display_width;

use super::super::check;
use super::super::scenario::{check as scenario, plain, screen};

/// The scenario's job, which stops, and the same by a routine of which nothing is to be said.
fn both() -> (JobCheck, JobCheck) {
    let own = JobCheck {
        routine: "two-step".to_owned(),
        ..scenario().checks.remove(0)
    };
    let other = JobCheck {
        routine: "finish-only".to_owned(),
        verdict: Verdict::Go.into(),
        lines: Vec::new(),
        ..own.clone()
    };
    (own, other)
}

#[test]
fn both_verdicts_stand_above_the_better_check() {
    let (own, other) = both();
    assert_eq!(own.verdict(), Verdict::Stop);
    for width in [45, 80, 120] {
        let text = plain(&check::either(
            &screen(width),
            &own,
            &other,
            &BTreeSet::new(),
        ));
        let at = |what: &str| text.find(what).unwrap_or_else(|| panic!("{what}: {text}"));
        assert!(at("two-step: stop") < at("finish-only: go"), "{text}");
        assert!(at("finish-only: go") < at("The better of them, finish-only"));
        assert!(text.contains("the kit carries"), "{text}");
        for line in text.lines() {
            assert!(display_width(line) <= width, "{line}");
        }
    }
}

#[test]
fn the_better_verdict_goes_before_the_better_chance_and_ones_own_routine_before_a_like_one() {
    let (own, other) = both();
    let better = |own: &JobCheck, other: &JobCheck| check::better_of(own, other).routine.clone();
    assert_eq!(better(&own, &other), "finish-only");
    assert_eq!(better(&other, &own), "finish-only");
    let with = |check: &JobCheck, chance| JobCheck {
        carry_chance: Some(chance),
        verdict: Verdict::Watch.into(),
        ..check.clone()
    };
    assert_eq!(better(&with(&own, 0.8), &with(&other, 0.9)), "finish-only");
    assert_eq!(better(&with(&own, 0.9), &with(&other, 0.9)), "two-step");
}

#[test]
fn the_whole_form_has_both() {
    let (own, other) = both();
    let answer = CheckJobsResponse {
        checks: vec![own],
        or_check: Some(other),
        ..CheckJobsResponse::default()
    };
    let text = plain(&check::full(&screen(80), &answer));
    assert!(text.contains("The same by finish-only"), "{text}");
}
