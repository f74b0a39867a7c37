//! What a take moves: the kit of a job away from the bench goes where the job is.

use fettlebook_model::deed::Deed;
use fettlebook_model::{Entry, Tag};

use super::{check, give_back, pads_of, picked_for, take, two_days};
use crate::shop::{Shop, flags, id, replayed, saloon_job, tag};

fn away(shop: &mut Shop, job: &str, start: &str) {
    let job = fettlebook_model::job::Job {
        place: id("van-a"),
        ..saloon_job(job, start)
    };
    shop.say(fettlebook_model::Command::BookJob { job });
}

fn moved(entry: &Entry) -> Vec<Tag> {
    let moves = entry.deeds.iter().filter_map(|deed| match deed {
        Deed::Moved { tag, place } if *place == id("van-a") => Some(*tag),
        _ => None,
    });
    moves.collect()
}

#[test]
fn the_take_of_a_job_away_moves_its_kit_there_once_and_says_so() {
    let mut shop = two_days();
    away(&mut shop, "harbour", "2026-03-12 08:00");
    let entry = take(&mut shop, "harbour");
    let moves = moved(&entry);
    let picked = picked_for(&shop, "harbour");
    for one in &picked {
        assert_eq!(
            shop.piece(&one.tag.to_string()).place,
            id("van-a"),
            "{}",
            one.tag
        );
        assert_eq!(moves.iter().filter(|tag| **tag == one.tag).count(), 1);
    }
    assert!(moves.contains(&tag("M-01")) && moves.contains(&tag("B-01")));
    let said = check(&shop, "harbour");
    let lines = said.lines.iter().flat_map(|line| &line.todos);
    assert!(
        !lines.clone().any(|todo| todo.starts_with("Move ")),
        "{:?}",
        lines.collect::<Vec<_>>()
    );
    // Taken anew, there is nothing left to move.
    assert_eq!(moved(&take(&mut shop, "harbour")), []);
    assert_eq!(replayed(&shop.entries), shop.book);
}

#[test]
fn before_the_take_the_check_says_what_is_to_be_brought_from_where_and_by_when() {
    let mut shop = two_days();
    away(&mut shop, "harbour", "2026-03-12 08:00");
    let said = check(&shop, "harbour");
    let todos: Vec<&str> = (said.lines.iter())
        .flat_map(|line| line.todos.iter().map(String::as_str))
        .collect();
    let moves = todos.iter().filter(|todo| todo.starts_with("Move "));
    let all = moves
        .clone()
        .all(|todo| todo.contains("from bench to van-a by Thu 12 Mar 2026 07:30"));
    assert!(moves.count() >= 6 && all, "{todos:?}");
}

#[test]
fn the_take_of_a_job_at_the_bench_moves_nothing() {
    let mut shop = two_days();
    assert_eq!(take(&mut shop, "thursday").deeds.len(), 1);
}

/// The bottle of Friday's job at the bench stays for it, and whoever takes the other one reads so.
#[test]
fn what_another_job_elsewhere_was_taken_with_stays_and_is_flagged() {
    let mut shop = two_days();
    take(&mut shop, "friday");
    away(&mut shop, "harbour", "2026-03-12 08:00");
    let entry = take(&mut shop, "harbour");
    assert!(!moved(&entry).contains(&tag("B-01")));
    assert_eq!(shop.piece("B-01").place, id("bench"));
    let told = "B-01 stays at bench in the book: it is taken for friday at bench too. Move it to van-a \
         when it goes there.";
    assert!(flags(&entry).contains(&told), "{:?}", flags(&entry));
}

#[test]
fn giving_back_brings_nothing_and_undoing_the_take_brings_all() {
    let mut shop = two_days();
    away(&mut shop, "harbour", "2026-03-12 08:00");
    let entry = take(&mut shop, "harbour");
    let pads = pads_of(&picked_for(&shop, "harbour"));
    give_back(&mut shop, "harbour").unwrap();
    let pad = pads[0].to_string();
    assert_eq!(shop.piece(&pad).place, id("van-a"));
    let seq = entry.seq;
    let mut shop = two_days();
    away(&mut shop, "harbour", "2026-03-12 08:00");
    assert_eq!(take(&mut shop, "harbour").seq, seq);
    shop.reverse(seq).unwrap();
    assert_eq!(shop.piece(&pad).place, id("bench"));
}
