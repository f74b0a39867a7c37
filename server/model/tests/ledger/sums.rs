//! Sums by piece find what the book says otherwise than its entries, and know the few they cannot tell.

use fettlebook_model::kit::State;
use fettlebook_model::sums::Sums;
use fettlebook_model::{Book, Record, Subject};
use std::sync::Arc;

use crate::shop::{Shop, battery};

/// The differences of a book with one piece's state changed, from the shop's own entries.
fn differences_with(shop: &Shop, tag: &str, change: impl Fn(&mut State)) -> Vec<String> {
    let mut sums = Sums::default();
    shop.entries.iter().for_each(|entry| sums.take(entry));
    let records = shop.book.subjects().into_iter().map(|subject| {
        let mut record = shop.book.record(&subject).unwrap();
        if subject == Subject::Piece(tag.parse().unwrap())
            && let Record::Piece(piece) = &mut record
        {
            change(&mut Arc::make_mut(piece).state);
        }
        (subject, record)
    });
    sums.differences(&Book::restore(shop.book.head(), records))
}

#[test]
fn a_shop_that_nobody_touched_adds_up() {
    let shop = Shop::stocked();
    assert_eq!(differences_with(&shop, "P-01", |_| {}), [""; 0]);
}

#[test]
fn each_figure_that_differs_is_named_with_its_piece() {
    let mut shop = Shop::stocked();
    let make = crate::shop::make("battery-18", battery(&["orbital-150"], 150));
    shop.say(fettlebook_model::Command::CreateMake { make });
    shop.receive("battery-18", 1);
    shop.charge("BT-01");
    let bumped = |state: &mut State| match state {
        State::Pad(pad) => pad.wash_count += 1,
        State::Bundle(bundle) => bundle.clean_count += 1,
        State::Bottle(bottle) => bottle.left_ul = bottle.full_ul.saturating_add(bottle.full_ul),
        State::Sundry(sundry) => sundry.left_quantity += 1,
        State::Plate(plate) => plate.change_count += 1,
        State::Machine(machine) => machine.run_time_ms += 1,
        State::Battery(battery) => battery.charge_count += 1,
        State::Tool(_) => {}
    };
    let mut sorts = 0;
    for piece in shop.book.pieces() {
        let tag = piece.tag.to_string();
        let found = differences_with(&shop, &tag, bumped);
        assert_eq!(found.len(), 1, "{tag}: {found:?}");
        assert!(found[0].contains(&tag), "{found:?}");
        sorts += 1;
    }
    assert!(sorts >= 7);
}
