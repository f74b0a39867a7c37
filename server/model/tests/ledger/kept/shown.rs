//! A log carries the pieces that were shown: those are recorded, whatever the book would pick by then,
//! and what contradicts it is flagged.

use fettlebook_model::command::JobLog;
use fettlebook_model::take::Picked;
use fettlebook_model::{Command, Deed, Entry, Reason, Tag, decide};

use super::{kept, use_pad};
use crate::shop::{Shop, at, flags, id, tag, tags_of};

/// What a log of the job starts from, as its preview shows it.
fn shown(shop: &Shop) -> Vec<Picked> {
    let log = JobLog {
        job: Some(id("thursday")),
        ..JobLog::default()
    };
    let command = Command::LogJob(Box::new(log));
    decide(&shop.book, &command, shop.now).unwrap().picked
}

/// Every piece that a log used or took along, with how much, in its order.
fn used(entry: &Entry) -> Vec<(Tag, i64)> {
    let quantity = |deed: &Deed| match deed {
        Deed::PadUsed { tag, .. }
        | Deed::TakenAlong { tag, .. }
        | Deed::PlateUsed { tag, .. }
        | Deed::MachineUsed { tag, .. } => Some((*tag, 1)),
        Deed::LiquidUsed { tag, volume_ul, .. } => Some((*tag, volume_ul.ul())),
        Deed::TowelsUsed {
            tag, used_count, ..
        } => Some((*tag, *used_count)),
        Deed::SundryUsed { tag, quantity, .. } => Some((*tag, *quantity)),
        _ => None,
    };
    let mut used: Vec<_> = entry.deeds.iter().filter_map(quantity).collect();
    used.sort();
    used
}

fn as_used(picked: &[Picked]) -> Vec<(Tag, i64)> {
    let mut all: Vec<_> = picked.iter().map(|one| (one.tag, one.quantity)).collect();
    all.sort();
    all
}

#[test]
fn a_preview_shows_the_very_pieces_that_the_log_records() {
    let mut shop = Shop::worked();
    let picked = shown(&shop);
    let log = shop.log("thursday").clone();
    assert_eq!(used(&log), as_used(&picked));
    let spares = picked.iter().filter(|one| one.spare).count();
    let along = |deed: &&Deed| matches!(deed, Deed::TakenAlong { .. });
    assert_eq!(log.deeds.iter().filter(along).count(), spares);
}

/// The bench bins, moves and uses what the van was shown, and opens another bottle; the van's log is
/// of what it was shown all the same, and says where the book says otherwise.
#[test]
fn a_kept_log_is_of_what_was_shown_whatever_others_did_meanwhile() {
    let mut shop = Shop::worked();
    let seen = shop.book.head();
    let picked = shown(&shop);
    let pads: Vec<Tag> = picked.iter().map(|one| one.tag).take(16).collect();
    assert!(pads.contains(&tag("P-01")) && pads.contains(&tag("P-02")));
    shop.lose("P-01");
    shop.say(Command::Move {
        said: kept("bench", seen, at("2026-03-05 09:00")),
        tags: tags_of("P-02 M-01"),
        place: id("van-b"),
    });
    use_pad(
        &mut shop,
        kept("van-b", seen, at("2026-03-05 09:30")),
        "P-03",
    );
    shop.receive("coarse-compound-1l", 1);
    let log = JobLog {
        job: Some(id("thursday")),
        said: kept("van-a", seen, at("2026-03-05 14:00")),
        picked: picked.clone(),
        ..JobLog::default()
    };
    let entry = shop.say(Command::LogJob(Box::new(log))).clone();
    assert_eq!(used(&entry), as_used(&picked));
    let said = flags(&entry).join("\n");
    for told in [
        "P-01 was binned in the book",
        "P-02 was at van-b in the book and the job thursday at bench",
        "M-01 was at van-b",
        "P-03 was logged in entry",
    ] {
        assert!(said.contains(told), "{told} is not in:\n{said}");
    }
}

#[test]
fn a_pick_that_names_no_piece_of_the_book_is_refused() {
    let mut shop = Shop::worked();
    let mut picked = shown(&shop);
    picked[0].tag = tag("P-99");
    let refused = shop
        .log_as("thursday", |log| log.picked = picked)
        .unwrap_err();
    assert_eq!(
        (refused.reason, refused.field.as_str()),
        (Reason::TagUnknown, "picked.tag")
    );
}

#[test]
fn a_piece_that_was_shown_for_a_step_the_routine_has_no_more_is_flagged() {
    let mut shop = Shop::worked();
    let mut picked = shown(&shop);
    let spare = Picked {
        tag: tag("P-07"),
        step: Some(id("refine")),
        quantity: 1,
        spare: false,
    };
    picked.push(spare);
    let log = shop.log_as("thursday", |log| log.picked = picked).unwrap();
    assert!(
        flags(log).concat().contains("for the step refine"),
        "{log:?}"
    );
}

#[test]
fn a_swap_is_made_in_what_was_shown() {
    let mut shop = Shop::worked();
    let picked = shown(&shop);
    let log = shop.log_as("thursday", |log| {
        log.picked = picked;
        log.swaps = vec![(tag("P-01"), tag("P-07"))];
    });
    let worked = |pad: &str| {
        let mut used = log.as_ref().unwrap().deeds.iter();
        used.any(|deed| matches!(deed, Deed::PadUsed { tag: used, .. } if *used == tag(pad)))
    };
    assert!(worked("P-07") && !worked("P-01"));
}

/// Two parts of what was shown may name one bundle: what was used of it is held against what was there as
/// one use.
#[test]
fn a_bundle_that_was_shown_twice_is_used_once_with_all_of_it() {
    let mut shop = Shop::worked();
    let mut picked = shown(&shop);
    let bundle = picked.iter().find(|one| one.tag == tag("T-01"));
    let bundle = bundle.cloned().unwrap();
    let more = 24;
    picked.push(Picked {
        quantity: more,
        ..bundle.clone()
    });
    let entry = shop.log_as("thursday", |log| log.picked = picked);
    let entry = entry.unwrap().clone();
    let of_bundle: Vec<_> = used(&entry)
        .into_iter()
        .filter(|(used, _)| *used == bundle.tag)
        .collect();
    assert_eq!(of_bundle, [(bundle.tag, bundle.quantity + more)]);
    let told = flags(&entry).concat();
    assert!(told.contains("clean towels in the book"), "{told}");
}
