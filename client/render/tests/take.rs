//! What goes to a job, and how a job, a piece and a check tell of it.

use super::super::scenario::{at, bottle, check, pad, plain, screen};
use super::super::{check as check_page, job as job_page, kit as kit_page, take as take_page};
use fettlebook_contract::v1::{
    CheckJobsResponse, Deed, DeedKind, Entry, Job, JobState, JobTake, PickedPiece, Piece, WearBand,
};

fn picked(tag: &str, quantity: i64, spare: bool) -> PickedPiece {
    PickedPiece {
        tag: tag.to_owned(),
        step: "cut".to_owned(),
        quantity,
        spare,
    }
}

pub(super) fn pieces() -> Vec<Piece> {
    let pads = ["P-01", "P-02", "P-03", "P-05", "P-06"];
    let pads = pads.iter().map(|tag| pad(tag, 0.2, WearBand::Sound));
    pads.chain([bottle()]).collect()
}

pub(super) fn pick() -> Vec<PickedPiece> {
    let pads = ["P-01", "P-02", "P-03", "P-05"];
    let pads = pads.iter().map(|tag| picked(tag, 1, false));
    let rest = [
        picked("P-06", 1, true),
        picked(&bottle().tag, 61_300, false),
    ];
    pads.chain(rest).collect()
}

pub(super) fn entry() -> Entry {
    Entry {
        seq: 42,
        done_time: at(-15),
        deeds: vec![Deed {
            kind: DeedKind::JobTaken.into(),
            ..Deed::default()
        }],
        ..Entry::default()
    }
}

fn taken() -> JobTake {
    JobTake {
        seq: 42,
        by: "van-a".to_owned(),
        taken_time: at(-15),
        tags: pick().into_iter().map(|one| one.tag).collect(),
        ..JobTake::default()
    }
}

#[test]
fn a_pick_is_a_few_lines_by_sort_with_tags_in_ranges() {
    let entry = entry();
    let text = plain(&take_page::taken(
        &screen(80),
        &entry,
        None,
        &pick(),
        &pieces(),
    ));
    let lines: Vec<&str> = text.lines().collect();
    assert!(
        lines[0].starts_with("Entry 42  Wed 25 Nov 2026 17:00"),
        "{text}"
    );
    assert!(text.contains("P-01…P-03, P-05; spare P-06"), "{text}");
    assert!(text.contains(" 62 mL"), "{text}");
    assert!(text.contains("fettle undo 42"), "{text}");
    assert!(lines.len() <= 6, "{text}");
    let seen = plain(&take_page::preview(
        &screen(80),
        &entry,
        None,
        &pick(),
        &pieces(),
    ));
    assert!(seen.ends_with("Nothing was recorded."), "{seen}");
}

#[test]
fn a_pick_of_pieces_that_are_not_known_here_is_told_by_its_tags() {
    let text = plain(&take_page::preview(
        &screen(80),
        &Entry::default(),
        None,
        &pick(),
        &[],
    ));
    assert!(text.contains("P-01…P-03, P-05; spare P-06"), "{text}");
    let nothing = plain(&take_page::preview(
        &screen(80),
        &Entry::default(),
        None,
        &[],
        &[],
    ));
    assert!(
        nothing.starts_with("What goes along only the shop can say."),
        "{nothing}"
    );
}

#[test]
fn a_job_tells_that_it_is_taken_what_was_passed_and_that_it_is_not_logged() {
    let job = Job {
        job: "saloon-thursday".to_owned(),
        state: JobState::Booked.into(),
        start_time: at(0),
        taken: Some(JobTake {
            despite: "the customer waits".to_owned(),
            passed: vec!["coarse foam 150 (cut): Short by 2.".to_owned()],
            unlogged: true,
            ..taken()
        }),
        ..Job::default()
    };
    let text = plain(&job_page::list(&screen(120), std::slice::from_ref(&job)));
    assert!(
        text.contains("booked, taken, not logged, despite stop"),
        "{text}"
    );
    let text = plain(&job_page::show(&screen(80), &job));
    for told in [
        "by van-a, entry 42",
        "P-01…P-03, P-05, P-06",
        "the customer waits",
        "coarse foam 150 (cut): Short by 2.",
        "'fettle log saloon-thursday' records it",
        "--release' gives the pick back.",
    ] {
        assert!(text.contains(told), "{told} is not in:\n{text}");
    }
}

#[test]
fn a_piece_tells_for_which_job_it_was_taken() {
    let piece = Piece {
        taken_for_jobs: vec!["saloon-thursday".to_owned()],
        ..pad("P-01", 0.2, WearBand::Sound)
    };
    let text = plain(&kit_page::list(&screen(120), &[piece]));
    assert!(text.contains("ready, taken for saloon-thursday"), "{text}");
}

#[test]
fn a_check_says_that_it_is_of_what_was_taken_and_what_was_passed() {
    let mut check = check();
    check.checks[0].taken = Some(JobTake {
        despite: "the customer waits.".to_owned(),
        passed: vec!["Towels: Short by 2.".to_owned()],
        unlogged: true,
        ..taken()
    });
    let text = plain(&check_page::full(&screen(80), &check));
    let told = "Taken Wed 25 Nov 2026 17:00, entry 42: this is the check of that pick.";
    assert!(text.contains(told), "{text}");
    let told = "Taken despite stop: the customer waits. Passed: Towels: Short by 2.";
    assert!(text.contains(told), "{text}");
    assert!(
        text.contains("Not logged: it started two days ago or more."),
        "{text}"
    );
    let none: CheckJobsResponse = super::super::scenario::check();
    assert!(!plain(&check_page::full(&screen(80), &none)).contains("Taken"));
}
