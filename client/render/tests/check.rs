//! The short check, the week and their bounds: 22 lines, hazards in full, cautions never left out.

use std::collections::BTreeSet;

use super::super::check as check_page;
use super::super::scenario::{
    COMPOUND_CAUTION, at, check, check_with_chances, crowded_check, plain, screen, week,
};
use fettlebook_contract::v1::{CheckJobsResponse, CheckLine, CheckLineKind, Job, Verdict};
use textwrap::core::display_width;

fn known() -> BTreeSet<String> {
    BTreeSet::from([COMPOUND_CAUTION.to_owned()])
}

fn short(answer: &CheckJobsResponse) -> String {
    plain(&check_page::short(&screen(80), answer, &known()))
}

#[test]
fn a_check_of_twelve_lines_that_stop_is_read_without_scrolling() {
    let answer = crowded_check();
    let stopping = answer.checks[0].lines.iter();
    let stopping = stopping.filter(|line| line.verdict() == Verdict::Stop);
    assert_eq!(stopping.count(), 12);
    let text = short(&answer);
    assert!(text.lines().count() <= 22, "{text}");
    for line in text.lines() {
        assert!(display_width(line) <= 80, "{line}");
    }
    // What is not told one by one is named.
    for line in &answer.checks[0].lines {
        let words: Vec<&str> = line.what.split(' ').collect();
        let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(&words.join(" ")), "{}:\n{text}", line.what);
    }
}

#[test]
fn what_can_hurt_somebody_is_told_in_full_however_crowded_the_check_is() {
    let answer = crowded_check();
    let text = short(&answer);
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let is_hazard = |line: &&CheckLine| {
        matches!(
            line.kind(),
            CheckLineKind::Plate | CheckLineKind::Film | CheckLineKind::Vibration
        )
    };
    let mut hazards = answer.checks[0].lines.iter().filter(is_hazard).peekable();
    assert!(hazards.peek().is_some());
    for line in hazards {
        for said in line.todos.iter().chain([&line.reason]) {
            assert!(flat.contains(said.as_str()), "{said}\n{text}");
        }
    }
}

#[test]
fn a_hazard_that_is_watched_is_told_beside_more_lines_that_stop_than_fit() {
    let mut answer = crowded_check();
    let lines = &mut answer.checks[0].lines;
    for line in lines.iter_mut() {
        if line.kind() == CheckLineKind::Vibration {
            line.verdict = Verdict::Watch.into();
        }
    }
    let more: Vec<CheckLine> = lines
        .iter()
        .filter(|line| line.kind() == CheckLineKind::Sundry)
        .flat_map(|line| {
            (0..9).map(|n| CheckLine {
                what: format!("{} {n}", line.what),
                ..line.clone()
            })
        })
        .collect();
    lines.extend(more);
    let text = short(&answer);
    assert!(text.contains("watch  hand-arm vibration"), "{text}");
}

/// Three plates that are refused stand on a line each, or with a clear mark between them where room is short.
#[test]
fn what_is_refused_of_plates_never_runs_together() {
    let mut answer = check();
    let plate = &mut answer.checks[0].lines[0];
    plate.reasons = ["Short by 1.", "PL-02 is too slow.", "PL-03 is too wide."]
        .map(str::to_owned)
        .to_vec();
    plate.reason = plate.reasons.join(" ");
    for page in [
        plain(&check_page::short(&screen(120), &answer, &BTreeSet::new())),
        plain(&check_page::full(&screen(120), &answer)),
    ] {
        let told: Vec<&str> = page
            .lines()
            .map(str::trim)
            .filter(|line| line.starts_with("- "))
            .collect();
        assert_eq!(
            told,
            [
                "- Short by 1.",
                "- PL-02 is too slow.",
                "- PL-03 is too wide."
            ],
            "{page}"
        );
    }
    let mut crowded = crowded_check();
    let lines = &mut crowded.checks[0].lines;
    let plate = lines
        .iter_mut()
        .find(|line| line.kind() == CheckLineKind::Plate);
    let plate = plate.unwrap();
    plate.reasons = vec!["Short by 1.".to_owned(), "PL-02 is too slow.".to_owned()];
    let text = short(&crowded);
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("Short by 1. · PL-02 is too slow."), "{text}");
}

#[test]
fn what_blocks_two_steps_is_told_once() {
    let mut answer = check();
    let lines = &mut answer.checks[0].lines;
    let plate = CheckLine {
        step: "finish".to_owned(),
        ..lines[0].clone()
    };
    lines.insert(3, plate);
    let text = short(&answer);
    assert_eq!(text.matches("plate 125 M8").count(), 1, "{text}");
    assert!(
        text.contains("plate 125 M8 (cut, finish): PL-02 is rated"),
        "{text}"
    );
}

#[test]
fn a_caution_is_told_in_full_until_it_was_shown_here_as_it_is_worded() {
    let answer = check();
    let first = plain(&check_page::short(&screen(120), &answer, &BTreeSet::new()));
    assert!(
        first.contains(&format!("Caution: {COMPOUND_CAUTION}")),
        "{first}"
    );
    let shown = check_page::shown_in_full(&answer.checks[0], &BTreeSet::new());
    assert_eq!(shown, [COMPOUND_CAUTION]);
    let then = short(&answer);
    assert!(
        then.contains("Cautions: harms skin or eyes. Follow the label"),
        "{then}"
    );
    assert!(!then.contains("H319"), "{then}");
    assert!(check_page::shown_in_full(&answer.checks[0], &known()).is_empty());
    let mut reworded = answer;
    reworded.checks[0].cautions[0].push_str(" And the mask.");
    reworded.checks[0].hazards[0]
        .text
        .push_str(" And the mask.");
    let text = short(&reworded);
    assert!(text.contains("And the mask."), "{text}");
}

#[test]
fn a_caution_whose_hazard_the_service_does_not_name_is_always_told_in_full() {
    let mut answer = check();
    answer.checks[0].hazards.clear();
    let text = plain(&check_page::short(&screen(120), &answer, &known()));
    assert!(text.contains(COMPOUND_CAUTION), "{text}");
    let text = plain(&check_page::week(&screen(120), &answer));
    assert!(text.contains(COMPOUND_CAUTION), "{text}");
}

#[test]
fn the_verdict_stands_first_and_last() {
    for (answer, word) in [(check(), "stop: "), (check_with_chances(), "watch: ")] {
        let text = short(&answer);
        let lines: Vec<&str> = text.lines().collect();
        assert!(lines[1].starts_with(word), "{text}");
        assert!(lines[lines.len() - 1].starts_with(word), "{text}");
    }
}

#[test]
fn where_no_job_is_booked_the_next_elsewhere_is_named() {
    let nothing = CheckJobsResponse::default();
    let told = |answer: &_, place, for_days| {
        check_page::nothing_booked(&screen(80), answer, place, for_days)
    };
    assert_eq!(
        told(&nothing, "", false),
        "No booked job to check. 'fettle job add' books one."
    );
    assert_eq!(
        told(&nothing, "van-a", true),
        "No job is booked at van-a for these days. 'fettle job add' books one."
    );
    let elsewhere = CheckJobsResponse {
        next_elsewhere: Some(Job {
            job: "black-suv".to_owned(),
            place: "van-b".to_owned(),
            start_time: at(0),
            ..Job::default()
        }),
        ..nothing
    };
    let text = told(&elsewhere, "van-a", false);
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let when = screen(80).moment(&at(0).unwrap());
    assert_eq!(
        flat,
        format!(
            "No job is booked at van-a. The shop's next is black-suv, {when} at van-b: 'fettle check black-suv'."
        )
    );
    for width in 30..=80 {
        let narrow = check_page::nothing_booked(&screen(width), &elsewhere, "van-a", false);
        assert!(narrow.contains("'fettle check black-suv'"), "{narrow}");
    }
}

#[test]
fn a_week_tells_each_job_its_first_thing_and_its_hazards_by_name() {
    let text = plain(&check_page::week(&screen(80), &week(4)));
    assert!(text.lines().count() <= 22, "{text}");
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        flat.contains("plate 125 M8: Fit a plate rated 4800/min"),
        "{text}"
    );
    assert!(flat.contains("(and hand-arm vibration, 1 more)"), "{text}");
    assert!(text.contains("Cautions: harms skin or eyes."), "{text}");
    assert!(text.ends_with("stop in all."), "{text}");
}

#[test]
fn a_full_diary_is_a_page_too_and_names_every_job() {
    let text = plain(&check_page::week(&screen(80), &week(30)));
    assert!(text.lines().count() <= 22, "{text}");
    for job in 1..=30 {
        assert!(text.contains(&format!("job-{job}")), "{job}\n{text}");
    }
    let first = plain(&check_page::week(&screen(80), &week(1)));
    assert!(
        first.contains(&screen(80).moment(&at(0).unwrap())),
        "{first}"
    );
}
