//! What a check says on paper, beside what it says on the screen.

use super::html;
use crate::paper::Size;
use crate::paper::tests::{ground, read, texts};
use crate::render::scenario::{COMPOUND_CAUTION, check, crowded_check, week};
use fettlebook_contract::v1::CheckJobsResponse;

fn told(answer: &CheckJobsResponse) -> Vec<String> {
    let nothing = "No booked job to check.";
    texts(&read(&html(&ground(Size::A4), answer, nothing).unwrap()))
}

#[test]
fn the_verdict_stands_on_top_then_what_to_do_what_to_take_and_every_caution() {
    let told = told(&check());
    let at = |text: &str| {
        let found = told.iter().position(|one| one.contains(text));
        found.unwrap_or_else(|| panic!("{text}: {told:?}"))
    };
    let order = [
        "saloon-thursday",
        "not before this is mended.",
        "What to do",
        "PL-02 is rated 4000/min",
        "Fit a plate rated 4800/min or more",
        "Take",
        "P-01",
        "Cautions",
        COMPOUND_CAUTION,
        "Done at",
    ];
    // The title of the document comes before all of it.
    let places: Vec<usize> = order.into_iter().skip(1).map(at).collect();
    assert!(places.is_sorted(), "{places:?}");
    // It heads each page that the job goes on to.
    assert!(told[1].starts_with("saloon-thursday: stop, as of Wed 25 Nov 2026 18:30"));
}

#[test]
fn what_is_not_go_is_told_in_full_however_much_it_is() {
    let told = told(&crowded_check());
    for line in &crowded_check().checks[0].lines {
        assert!(
            told.iter().any(|one| one.contains(&line.what)),
            "{}",
            line.what
        );
        for todo in &line.todos {
            assert!(told.iter().any(|one| one == todo), "{todo}");
        }
    }
}

#[test]
fn each_piece_has_a_box_and_each_bottle_room_for_its_weights() {
    let paper = html(&ground(Size::A4), &check(), "").unwrap();
    let document = read(&paper);
    let rows = document
        .descendants()
        .filter(|node| node.has_tag_name("tr"));
    let of = |tag: &str| {
        rows.clone()
            .find(|row| row.descendants().any(|node| node.text() == Some(tag)))
            .unwrap()
    };
    let class = |tag: &str, class: &str| {
        let nodes = of(tag)
            .descendants()
            .filter(|node| node.attribute("class") == Some(class));
        nodes.count()
    };
    assert_eq!((class("B-03", "box"), class("B-03", "room")), (1, 2));
    assert_eq!((class("T-01", "box"), class("T-01", "room")), (1, 1));
    // Three pads of a make for one step stand in one row, each with its box.
    assert_eq!(of("P-01"), of("P-06"));
    assert_eq!((class("P-01", "box"), class("P-01", "room")), (3, 2));
}

#[test]
fn each_job_of_a_week_begins_a_page_and_is_kept_whole() {
    let answer = week(3);
    let paper = html(&ground(Size::A5), &answer, "").unwrap();
    assert_eq!(paper.matches("<article class=\"job\">").count(), 3);
    assert!(paper.contains(".job { display: table; width: 100%; break-inside: avoid; }"));
    assert!(paper.contains(".job + .job { break-before: page; }"));
    assert!(told(&answer).contains(&answer.assumption));
}

#[test]
fn where_nothing_is_booked_the_paper_says_so() {
    let told = told(&CheckJobsResponse::default());
    assert!(
        told.iter().any(|one| one.starts_with("No booked job")),
        "{told:?}"
    );
}
