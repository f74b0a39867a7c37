//! What a take moves: the kit of a job away from the bench goes where the job is.

use fettlebook_model::command::JobTake;
use fettlebook_model::deed::Deed;
use fettlebook_model::today::{ToBring, today};
use fettlebook_model::{Entry, Tag};

use super::{check, give_back, pads_of, picked_for, take, taking, try_take, two_days};
use crate::kept::kept;
use crate::shop::{Shop, at, flags, id, replayed, saloon_job, tag};

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

/// Its kit stands elsewhere, from where it is brought; whoever works at the bench carries it there themselves.
#[test]
fn the_take_of_a_job_at_the_bench_moves_nothing() {
    let mut shop = two_days();
    shop.move_to("P-01", "store-room");
    shop.move_to("M-01", "store-room");
    let entry = take(&mut shop, "thursday");
    let picked = picked_for(&shop, "thursday");
    assert!(
        picked.iter().any(|one| one.tag == tag("M-01")),
        "{picked:?}"
    );
    assert_eq!(entry.deeds.len(), 1, "{:?}", entry.deeds);
    assert_eq!(shop.piece("M-01").place, id("store-room"));
}

/// The take of the harbour's job as a van kept it that had seen the book up to here.
fn kept_by_van(shop: &Shop) -> JobTake {
    let mut looked = shop.clone();
    take(&mut looked, "harbour");
    JobTake {
        said: kept("van-a", shop.book.head(), shop.now),
        picked: picked_for(&looked, "harbour"),
        ..taking("harbour")
    }
}

#[test]
fn the_take_that_comes_after_its_job_was_done_moves_nothing() {
    let mut shop = two_days();
    away(&mut shop, "harbour", "2026-03-05 08:00");
    let mut late = kept_by_van(&shop);
    shop.go_to("2026-03-05 16:00");
    shop.log("harbour");
    // The device has seen the log: nothing went elsewhere that it does not know of.
    late.said = kept("van-a", shop.book.head(), shop.now);
    let entry = try_take(&mut shop, late).unwrap();
    assert_eq!(moved(&entry), []);
    assert_eq!(shop.piece("M-01").place, id("bench"));
}

#[test]
fn what_was_binned_meanwhile_is_moved_nowhere() {
    let mut shop = two_days();
    away(&mut shop, "harbour", "2026-03-12 08:00");
    let late = kept_by_van(&shop);
    let gone = pads_of(&late.picked)[0];
    shop.lose(&gone.to_string());
    let entry = try_take(&mut shop, late).unwrap();
    assert!(!moved(&entry).contains(&gone), "{:?}", moved(&entry));
    assert!(moved(&entry).contains(&tag("M-01")));
    assert_eq!(shop.piece(&gone.to_string()).place, id("bench"));
}

#[test]
fn what_went_elsewhere_meanwhile_stays_there_and_is_flagged() {
    let mut shop = two_days();
    away(&mut shop, "harbour", "2026-03-12 08:00");
    let late = kept_by_van(&shop);
    shop.move_to("M-01", "van-b");
    let entry = try_take(&mut shop, late).unwrap();
    assert!(!moved(&entry).contains(&tag("M-01")) && moved(&entry).contains(&tag("B-01")));
    assert_eq!(shop.piece("M-01").place, id("van-b"));
    let said = flags(&entry).join("\n");
    assert!(said.contains("M-01 is at van-b in the book"), "{said}");
}

/// What today says is to be brought, as tags by job and place.
fn to_bring(shop: &Shop) -> Vec<ToBring> {
    today(&shop.book, None, shop.now).to_bring
}

#[test]
fn today_says_what_is_not_in_the_van_yet_by_when_and_from_where() {
    let mut shop = two_days();
    away(&mut shop, "harbour", "2026-03-06 08:00");
    shop.move_to("P-01", "van-a");
    let told = to_bring(&shop);
    assert_eq!(told.len(), 1, "{told:?}");
    let bring = &told[0];
    assert_eq!((bring.job.as_str(), bring.is_taken), ("harbour", false));
    assert_eq!(
        (bring.from.as_str(), bring.place.as_str()),
        ("bench", "van-a")
    );
    assert_eq!(bring.bring_by, Some(at("2026-03-06 07:30")));
    let mut tags: Vec<Tag> = kept_by_van(&shop)
        .picked
        .iter()
        .map(|one| one.tag)
        .collect();
    tags.retain(|tag| shop.piece(&tag.to_string()).place == id("bench"));
    tags.sort();
    tags.dedup();
    assert_eq!(bring.tags, tags);
    assert!(!tags.contains(&tag("P-01")) && tags.contains(&tag("M-01")));
}

#[test]
fn today_is_silent_of_what_is_far_off_at_the_bench_or_taken_along() {
    let mut shop = two_days();
    shop.move_to("M-01", "store-room");
    assert_eq!(to_bring(&shop), [], "whoever works at the bench is there");
    shop.move_to("M-01", "bench");
    away(&mut shop, "harbour", "2026-03-12 08:00");
    assert_eq!(to_bring(&shop), [], "a week ahead");
    shop.go_to("2026-03-11 16:00");
    assert_eq!(to_bring(&shop).len(), 1);
    take(&mut shop, "harbour");
    assert_eq!(to_bring(&shop), []);
    shop.move_to("M-01", "bench");
    let told = to_bring(&shop);
    assert_eq!((told.len(), &told[0].tags), (1, &vec![tag("M-01")]));
    assert!(told[0].is_taken && told[0].bring_by.is_some());
    shop.go_to("2026-03-12 07:45");
    assert_eq!(to_bring(&shop)[0].bring_by, None, "it is too late for that");
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
