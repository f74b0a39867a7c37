//! Labels of pieces: which were printed, and when last.

use fettlebook_model::command::Said;
use fettlebook_model::{Command, Moment, Reason};

use crate::shop::{Shop, at, flags, restored, tag, tags_of};

/// Labels were printed at a moment; now where none is said.
fn printed(tags: &str, done_at: Option<Moment>) -> Command {
    Command::MarkLabelled {
        said: Said {
            done_at,
            ..Said::default()
        },
        tags: tags_of(tags),
    }
}

fn labelled(shop: &Shop, piece: &str) -> Option<Moment> {
    shop.piece(piece).labelled_at
}

#[test]
fn a_label_is_remembered_with_its_piece_until_that_is_taken_back() {
    let mut shop = Shop::stocked();
    assert_eq!(labelled(&shop, "P-01"), None);
    let seq = shop.say(printed("P-01 BP-01 B-01 T-01", None)).seq;
    for piece in ["P-01", "BP-01", "B-01", "T-01"] {
        assert!(labelled(&shop, piece).is_some(), "{piece}");
    }
    assert_eq!(labelled(&shop, "P-02"), None);
    shop.reverse(seq).unwrap();
    assert_eq!(labelled(&shop, "P-01"), None);
}

#[test]
fn the_last_print_stands_in_whatever_order_prints_are_told() {
    let mut shop = Shop::stocked();
    let now = shop.say(printed("P-01", None)).done_at;
    shop.say(printed("P-01 P-02", Some(at("2026-03-01 08:00"))));
    assert_eq!(labelled(&shop, "P-01"), Some(now));
    assert!(labelled(&shop, "P-02").is_some_and(|last| last < now));
    let restored = restored(&shop.book);
    let piece = restored.piece(tag("P-01")).unwrap();
    assert_eq!(piece.labelled_at, Some(now));
}

#[test]
fn printing_changes_nothing_else_of_a_piece() {
    let mut shop = Shop::worked();
    let before = shop.piece("P-01").clone();
    shop.say(printed("P-01", None));
    let mut after = shop.piece("P-01").clone();
    after.labelled_at = None;
    after.last_seq = before.last_seq;
    assert_eq!(after, before);
}

#[test]
fn what_is_not_there_is_refused_and_what_is_binned_is_flagged() {
    let mut shop = Shop::stocked();
    let refused = shop.try_say(printed("P-01 P-99", None)).unwrap_err();
    assert_eq!(refused.reason, Reason::TagUnknown);
    assert_eq!(labelled(&shop, "P-01"), None);
    shop.lose("P-01");
    let entry = shop.say(printed("P-01", None));
    assert_eq!(flags(entry), ["P-01 is binned in the book."]);
}
