//! How an offer is written, and what it does to a price list.

use clap::Parser as _;
use fettlebook_contract::v1::{Money, Offer};

use super::{Change, odd, offer, with, without};
use crate::args::Cli;
use crate::commands::Command;
use crate::commands::supplier::SupplierCommand;

fn changes(words: &[&str]) -> Result<Vec<Change>, String> {
    let line = ["fettle", "supplier", "price", "tern-quay"];
    let parsed =
        Cli::try_parse_from(line.iter().chain(words)).map_err(|error| error.to_string())?;
    let Some(Command::Supplier(command)) = parsed.command else {
        unreachable!("another command");
    };
    match *command {
        SupplierCommand::Price(args) => args.changes().map_err(|fault| fault.message),
        _ => unreachable!("another command"),
    }
}

fn of(make: &str, text: &str) -> Offer {
    Offer {
        make: make.to_owned(),
        ..offer(text).unwrap()
    }
}

fn list() -> Vec<Offer> {
    ["a", "b", "c"]
        .map(|make| of(make, "each: 1.00 EUR"))
        .to_vec()
}

fn told(offers: &[Offer]) -> Vec<String> {
    let amount = |one: &Offer| one.breaks[0].price.clone().unwrap().amount;
    let tell = |one: &Offer| format!("{} {}", one.make, amount(one));
    offers.iter().map(tell).collect()
}

#[test]
fn an_offer_takes_the_place_of_the_one_for_its_make_and_leaves_the_others() {
    let changed = with(list(), of("b", "each: 2.00 EUR"));
    assert_eq!(told(&changed), ["a 1.00", "b 2.00", "c 1.00"]);
    let added = with(list(), of("d", "each: 2.00 EUR"));
    assert_eq!(told(&added), ["a 1.00", "b 1.00", "c 1.00", "d 2.00"]);
}

#[test]
fn an_offer_is_taken_off_and_one_that_is_not_there_is_refused() {
    let left = without(list(), "tern-quay", "b").unwrap();
    assert_eq!(told(&left), ["a 1.00", "c 1.00"]);
    let fault = without(list(), "tern-quay", "d").unwrap_err();
    assert!(fault.message.contains('d') && fault.exit.code() == 2);
}

#[test]
fn several_makes_go_in_one_command_in_words_of_their_own_or_not() {
    let expected = vec![
        Change::Offer(of("compound", "38 EUR")),
        Change::Offer(of("polish", "2 per pack: 29 EUR")),
    ];
    for words in [
        &["compound", "38 EUR", "polish", "2 per pack: 29 EUR"][..],
        &[
            "compound", "38", "EUR", "polish", "2", "per", "pack:", "29", "EUR",
        ],
        &["compound=38EUR", "polish=2 per pack: 29EUR"],
        &["compound", "38 EUR", "polish=2 for 29 EUR"],
    ] {
        assert_eq!(changes(words), Ok(expected.clone()), "{words:?}");
    }
    let drop = changes(&["a", "b", "--drop"]);
    let both = vec![Change::Drop("a".to_owned()), Change::Drop("b".to_owned())];
    assert_eq!(drop, Ok(both));
    assert!(changes(&["compound"]).unwrap_err().contains("missing"));
    assert!(
        changes(&["compound", "dear"])
            .unwrap_err()
            .contains("'dear'")
    );
    assert!(changes(&[]).is_err());
}

/// Pieces in a pack, then packs and price of each break.
fn read(text: &str) -> (i64, Vec<(i64, String)>) {
    let offer = offer(text).unwrap();
    let breaks = offer.breaks.into_iter().map(|one| {
        let price = one.price.unwrap();
        let told = format!("{} {}", price.amount, price.currency_code);
        (one.from_pack_count, told)
    });
    (offer.pack_count, breaks.collect())
}

fn prices(told: &[(i64, &str)]) -> Vec<(i64, String)> {
    let owned = |(count, price): &(i64, &str)| (*count, (*price).to_owned());
    told.iter().map(owned).collect()
}

#[test]
fn an_offer_says_what_a_pack_holds_and_what_it_costs_from_how_many() {
    assert_eq!(
        read("2 per pack: 18.90 EUR, from 5 packs 17.50 EUR, from 20 packs 16 eur"),
        (
            2,
            prices(&[(1, "18.90 EUR"), (5, "17.50 EUR"), (20, "16 EUR")])
        )
    );
    assert_eq!(read("Each:24.50 EUR"), (1, prices(&[(1, "24.50 EUR")])));
    assert_eq!(
        read(" 12  per pack :  34.00 EUR "),
        (12, prices(&[(1, "34.00 EUR")]))
    );
    let two = (2, prices(&[(1, "18.90 EUR")]));
    for text in [
        "2: 18.90 EUR",
        "pack of 2: 18,90 EUR",
        "2-pack: €18.90",
        "2 for 18.90 EUR",
        "18.90 EUR for 2",
        "2 per pack: EUR 18.90",
        "2 a pack: 18,90€",
    ] {
        assert_eq!(read(text), two, "{text}");
    }
    assert_eq!(
        read("each: 38 EUR, from 3 34 EUR"),
        (1, prices(&[(1, "38 EUR"), (3, "34 EUR")]))
    );
    assert_eq!(
        read("2 per pack: 18,90 EUR, from 5 packs 17,50 EUR"),
        (2, prices(&[(1, "18.90 EUR"), (5, "17.50 EUR")]))
    );
}

#[test]
fn a_price_without_a_word_is_for_one_as_it_is_sold() {
    assert_eq!(read("18.90 EUR"), (0, prices(&[(1, "18.90 EUR")])));
    assert_eq!(read("29"), (0, prices(&[(1, "29 ")])));
    assert_eq!(read("19 EUR each"), (1, prices(&[(1, "19 EUR")])));
}

#[test]
fn what_is_unclear_is_refused_with_the_accepted_form() {
    for text in [
        "",
        "per pack: 18.90 EUR",
        "0 per pack: 18.90 EUR",
        "-2 per pack: 18.90 EUR",
        "2.5 per pack: 18.90 EUR",
        "2 per pack:",
        "2 per pack: 1,890 EUR",
        "2 per pack: -18.90 EUR",
        "2 per pack: 18.90 EUR,",
        "2 per pack: 18.90 EUR, 17.50 EUR",
        "2 per pack: 18.90 EUR, from 1 pack 17.50 EUR",
        "2 per pack: 18.90 EUR, from 5 packs 17 EUR, from 5 packs 16 EUR",
        "2 per pack: 18.90 EUR, from 9 packs 17 EUR, from 5 packs 16 EUR",
        "2 per pack: 18.90 EUR, from five packs 17.50 EUR",
    ] {
        let refused = offer(text).unwrap_err();
        assert!(
            refused.contains("2 per pack: 18.90 EUR"),
            "{text}: {refused}"
        );
    }
}

#[test]
fn a_price_far_from_another_of_the_same_make_is_odd() {
    let euros = |amount: &str| Money {
        amount: amount.to_owned(),
        currency_code: "EUR".to_owned(),
    };
    let pack = euros("32");
    let told = |new: &str, pack_count| odd(Some(&euros(new)), pack_count, Some(&pack), 24);
    assert!(told("32", 1).unwrap().contains("24 times"));
    assert!(told("0.10", 1).unwrap().contains("13th"));
    for (new, pack_count) in [("32", 24), ("3", 1), ("16", 12)] {
        assert_eq!(told(new, pack_count), None, "{new}");
    }
    assert_eq!(odd(Some(&pack), 1, None, 1), None);
}
