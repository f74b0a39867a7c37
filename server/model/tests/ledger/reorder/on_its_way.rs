//! What is on its way is not ordered again, as far as it comes in time.

use fettlebook_model::Command;
use fettlebook_model::command::{NewOrder, OrderedLine, Said};

use super::{line, list, supplied};
use crate::shop::{Shop, eur, id, order_of, packs};

/// An order for the two pads, due on the 7th.
fn on_its_way(is_placed: bool) -> Shop {
    let mut shop = supplied();
    shop.order(NewOrder {
        is_placed,
        ..order_of("tern-quay", vec![packs("coarse-foam-150", 1)])
    });
    shop
}

#[test]
fn what_is_on_its_way_counts_and_a_draft_does_not() {
    assert!(line(&list(&on_its_way(true)), "coarse-foam-150").is_none());
    assert!(line(&list(&on_its_way(false)), "coarse-foam-150").is_some());
    let mut closed = on_its_way(true);
    closed.say(Command::CloseOrder {
        said: Said::default(),
        order: id("order-1"),
    });
    assert!(line(&list(&closed), "coarse-foam-150").is_some());
}

/// Source: by hand: due on the 15th and a day to have it ready is the morning of the 16th; a day later
/// is too late.
#[test]
fn what_comes_too_late_does_not_count() {
    for (day, is_there) in [("12", true), ("13", false)] {
        let mut shop = supplied();
        shop.go_to(&format!("2026-03-{day} 12:00"));
        shop.order_packs("tern-quay", "coarse-foam-150", 1);
        let is_listed = line(&list(&shop), "coarse-foam-150").is_some();
        assert_eq!(is_listed, !is_there, "{day}");
    }
}

/// Source: by hand: due on the 7th and not there on the 14th, it may be there on the 15th and ready on
/// the 16th at best, and on the 15th no longer.
#[test]
fn what_is_overdue_is_not_counted_as_there() {
    let mut shop = on_its_way(true);
    for (day, is_listed) in [("14", false), ("15", false), ("16", true)] {
        shop.go_to(&format!("2026-03-{day} 07:00"));
        let list = list(&shop);
        assert_eq!(line(&list, "coarse-foam-150").is_some(), is_listed, "{day}");
    }
}

/// Source: by hand: as above, where the 16th begins an hour earlier than by UTC.
#[test]
fn a_day_is_over_when_it_is_over_in_the_shop() {
    let mut shop = on_its_way(true);
    for job in ["monday", "wednesday"] {
        let was = shop.book.job(&id(job)).unwrap().as_ref().clone();
        let mut job = was.clone();
        job.utc_offset_s = 3_600;
        shop.say(Command::EditJob { was, job });
    }
    for (now, is_listed) in [("2026-03-15 22:59", false), ("2026-03-15 23:00", true)] {
        shop.go_to(now);
        let list = list(&shop);
        assert_eq!(line(&list, "coarse-foam-150").is_some(), is_listed, "{now}");
    }
}

/// An order of one's own price is part of what is on its way like any other.
#[test]
fn what_comes_in_other_packs_than_the_list_has_counts_by_its_pieces() {
    let mut shop = supplied();
    let one = OrderedLine {
        pieces_per_pack: Some(1),
        price: Some(eur("9.00")),
        ..packs("coarse-foam-150", 1)
    };
    shop.order(order_of("tern-quay", vec![one]));
    let list = list(&shop);
    let pads = line(&list, "coarse-foam-150").unwrap();
    assert_eq!((pads.need_count, pads.pack_count), (1, 1));
}
