//! Placing what is to be ordered, against a service that only answers.

use std::cell::RefCell;

use super::{Fate, document, place_all, rows};
use crate::args::Cli;
use crate::columns::Decimals;
use crate::fault::Fault;
use crate::render::scenario::supply::{eur, to_reorder};
use clap::Parser as _;
use fettlebook_contract::v1::{
    CreateOrderRequest, CreateOrderResponse, Entry, ReorderCause, ReorderLine, SupplierBasket,
};
use tonic::{Code, Status};

/// What becomes of baskets at a service that takes the first `taken` orders, and what it was sent.
fn placed(
    baskets: &[SupplierBasket],
    anyway: bool,
    taken: usize,
) -> (Result<Vec<Fate>, Fault>, Vec<CreateOrderRequest>) {
    let seen = RefCell::new(Vec::new());
    let call = async |sent: CreateOrderRequest| {
        seen.borrow_mut().push(sent);
        let number = seen.borrow().len();
        if number > taken {
            let full = Status::new(Code::FailedPrecondition, "The disk is full.");
            return Err(Fault::from(full));
        }
        Ok(CreateOrderResponse {
            entry: Some(Entry::default()),
            order: format!("order-{number}"),
            ..CreateOrderResponse::default()
        })
    };
    let runtime = crate::runtime::runtime().unwrap();
    let fates = runtime.block_on(place_all(baskets, anyway, call));
    (fates, seen.into_inner())
}

fn told(fates: &[Fate]) -> Vec<String> {
    fates.iter().map(Fate::told).collect()
}

#[test]
fn each_basket_becomes_one_placed_order_as_it_was_shown() {
    let mut baskets = to_reorder().baskets;
    for basket in &mut baskets {
        basket.to_min_order = None;
    }
    let (fates, sent) = placed(&baskets, false, 9);
    assert_eq!(fates.unwrap().len(), 2);
    let suppliers: Vec<_> = sent.iter().map(|one| one.supplier.as_str()).collect();
    assert_eq!(suppliers, ["tern-quay", "millrace-trade-counter"]);
    assert_ne!(sent[0].request_id, sent[1].request_id);
    assert!(sent.iter().all(|one| one.placed));
    let first = &sent[0].lines[0];
    assert_eq!(
        (first.make.as_str(), first.pack_count),
        ("coarse-foam-150", 3)
    );
    assert_eq!(
        (first.pieces_per_pack, first.price.clone()),
        (2, eur("18.90"))
    );
    assert_eq!(sent[0].freight, eur("0.00"));
}

/// A job's need and what is kept beside it are two lines of the list and one of the order.
#[test]
fn a_make_is_ordered_in_one_line() {
    let mut baskets = to_reorder().baskets;
    let kept = ReorderLine {
        cause: ReorderCause::KeepLevel.into(),
        pack_count: 2,
        ..baskets[0].lines[0].clone()
    };
    baskets[0].lines.push(kept);
    let (_, sent) = placed(&baskets, true, 9);
    let lines = sent[0].lines.iter();
    let told: Vec<_> = lines
        .map(|line| (line.make.as_str(), line.pack_count))
        .collect();
    assert_eq!(told, [("coarse-foam-150", 5), ("fine-polish-500ml", 1)]);
}

#[test]
fn a_basket_below_the_least_order_is_told_and_placed_only_anyway() {
    let baskets = to_reorder().baskets;
    let (fates, sent) = placed(&baskets, false, 9);
    assert_eq!(sent.len(), 1);
    assert_eq!(
        told(&fates.unwrap()),
        [
            "Placed with tern-quay: order-1. When the parcel comes: fettle receive order-1",
            "Not placed with millrace-trade-counter: 5.40 EUR are missing to its least order. Add \
             to it, or place it as it is with --anyway.",
        ]
    );
    let (fates, sent) = placed(&baskets, true, 9);
    assert_eq!((fates.unwrap().len(), sent.len()), (2, 2));
}

#[test]
fn a_refusal_says_what_was_placed_before_it() {
    let baskets = to_reorder().baskets;
    let (fates, _) = placed(&baskets, true, 1);
    let fault = fates.err().unwrap();
    assert_eq!(
        fault.message,
        "The disk is full. Placed before that: order-1 with tern-quay."
    );
}

#[test]
fn the_document_holds_the_list_the_orders_and_what_was_left() {
    let answer = to_reorder();
    let (fates, _) = placed(&answer.baskets, false, 9);
    let document = document(&answer, &fates.unwrap()).unwrap();
    assert_eq!(document["orders"][0]["order"], "order-1");
    assert_eq!(
        document["notPlaced"][0]["supplier"],
        "millrace-trade-counter"
    );
    assert_eq!(document["reorder"]["baskets"][0]["supplier"], "tern-quay");
}

#[test]
fn the_rows_carry_their_supplier_and_what_none_offers_carries_none() {
    let text = rows(&to_reorder(), Decimals::Point).unwrap();
    let mut lines = text.lines();
    let header = lines.next().unwrap();
    assert!(header.starts_with("supplier,supplier_name,make,make_name,cause,need_count,"));
    let begins: Vec<_> = lines.map(|line| line.split(',').next().unwrap()).collect();
    assert_eq!(
        begins,
        ["tern-quay", "tern-quay", "millrace-trade-counter", ""]
    );
}

#[test]
fn a_list_is_placed_or_put_out_as_rows_but_not_both() {
    let parsed = |words: &[&str]| {
        let line = ["fettle", "reorder"].iter().chain(words);
        Cli::try_parse_from(line).is_ok()
    };
    assert!(parsed(&["--through", "+14 days", "--place", "--anyway"]));
    assert!(parsed(&["--csv"]));
    assert!(!parsed(&["--csv", "--place"]) && !parsed(&["--anyway"]));
}
