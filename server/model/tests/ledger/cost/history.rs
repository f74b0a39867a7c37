//! Stock that was mistyped, told late and taken back: what it costs follows from what stands.
//!
//! Fifty pairs of gloves go with a job; a box holds fifty. Nobody lists a price for them.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use fettlebook_model::command::{Counted, Delivery, OrderedLine, Said};
use fettlebook_model::job::{Job, SundryNeed};
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::{Command, Deed, Entry, Seq};
use jiff::ToSpan as _;
use proptest::collection::vec;
use proptest::prelude::{ProptestConfig, Strategy, prop_assert, proptest};
use proptest::prop_oneof;
use rust_decimal::Decimal;

use super::typical;
use crate::shop::{
    Shop, delivery_of, eur, id, order_of, packs, routine, saloon_job, step, supplier,
};

const GLOVES: &str = "nitrile-gloves";
const PAIRS: i64 = 50;

/// A shop in which a job on Thursday takes fifty pairs.
fn gloves() -> Shop {
    let mut shop = Shop::new();
    shop.supply(supplier("by-hand", 1, Vec::new()));
    let mut gloved = routine(
        "gloved",
        vec![step("cut", "coarse-foam-150", "coarse-compound-1l")],
    );
    gloved.sundries = vec![SundryNeed {
        make: id(GLOVES),
        per_job_quantity: PAIRS,
        per_m2_quantity: 0,
    }];
    shop.say(Command::CreateRoutine { routine: gloved });
    let job = Job {
        routine: id("gloved"),
        ..saloon_job("thursday", "2026-12-03 08:00")
    };
    shop.say(Command::BookJob { job });
    shop
}

/// Has boxes come so many hours ago, for so much in all; the number of the entry.
fn came(shop: &mut Shop, boxes: i64, cost: Decimal, hours_ago: i64) -> Seq {
    let line = OrderedLine {
        price: Some(eur(&cost.to_string())),
        pieces_per_pack: Some(boxes),
        ..packs(GLOVES, 1)
    };
    let order = shop.order(order_of("by-hand", vec![line]));
    let said = Said {
        done_at: Some(shop.now.checked_sub(hours_ago.hours()).unwrap()),
        ..Said::default()
    };
    let delivery = Delivery {
        said,
        ..delivery_of(&order)
    };
    shop.deliver(delivery).seq
}

fn reverse(shop: &mut Shop, seq: Seq) -> bool {
    let said = Said::default();
    let past = None;
    shop.try_say(Command::Reverse { said, seq, past }).is_ok()
}

/// What the fifty pairs cost, first in first out and by average.
fn told(shop: &Shop) -> [String; 2] {
    [0, 1].map(|by_average| {
        let mut shop = shop.clone();
        shop.set_policy(PolicyKey::StockByAverage, by_average);
        typical(&shop, GLOVES)
    })
}

/// Source: by hand: one box at 7.35 stands.
#[test]
fn a_mistyped_delivery_that_was_taken_back_costs_nothing() {
    let mut shop = gloves();
    let mistyped = came(&mut shop, 1, "241.47".parse().unwrap(), 0);
    came(&mut shop, 1, "7.35".parse().unwrap(), 0);
    assert_eq!(told(&shop), ["241.47 EUR", "124.41 EUR"]);
    assert!(reverse(&mut shop, mistyped));
    assert_eq!(told(&shop), ["7.35 EUR", "7.35 EUR"]);
}

/// Source: by hand: a box at 4.00 the day before one at 8.00, of which ten pairs were left.
#[test]
fn a_delivery_told_late_counts_from_when_it_came() {
    let mut shop = gloves();
    came(&mut shop, 1, "8.00".parse().unwrap(), 0);
    assert_eq!(told(&shop), ["8.00 EUR", "8.00 EUR"]);
    came(&mut shop, 1, "4.00".parse().unwrap(), 24);
    assert_eq!(told(&shop), ["4.00 EUR", "6.00 EUR"]);
}

/// Source: by hand: three boxes for 10.00 in one line; of the first ten pairs are left, and 40 pairs of the
/// next box make 50 of 150 for a third of 10.00.
#[test]
fn a_line_keeps_its_total_and_splits_the_cents_once() {
    let mut shop = gloves();
    came(&mut shop, 3, "10.00".parse().unwrap(), 0);
    assert_eq!(shop.landed("S-01 S-02 S-03"), ["3.34", "3.33", "3.33"]);
    assert_eq!(told(&shop), ["3.33 EUR", "3.33 EUR"]);
    shop.count("S-01", 10);
    assert_eq!(told(&shop), ["3.33 EUR", "3.33 EUR"]);
}

/// What may happen to gloves in an hour.
#[derive(Debug, Clone)]
enum Act {
    /// Boxes come for so many cents, so many hours ago.
    Came(i64, i64, i64),
    /// Of one of the boxes so many pairs are counted.
    Left(usize, i64),
    /// One of the entries is taken back.
    TakenBack(usize),
}

fn act() -> impl Strategy<Value = Act> {
    prop_oneof![
        3 => (1..4_i64, 1..60_000_i64, 0..30_i64).prop_map(|(boxes, cents, ago)| Act::Came(boxes, cents, ago)),
        4 => (0..20_usize, 0..=PAIRS).prop_map(|(which, left)| Act::Left(which, left)),
        2 => (0..20_usize).prop_map(Act::TakenBack),
    ]
}

/// The entries that stand after the acts, beside the shop.
fn lived(acts: &[Act]) -> Shop {
    let mut shop = gloves();
    let mut done: Vec<Seq> = Vec::new();
    for act in acts {
        shop.now = shop.now.checked_add(1.hour()).unwrap();
        match *act {
            Act::Came(boxes, cents, ago) => {
                done.push(came(&mut shop, boxes, Decimal::new(cents, 2), ago));
            }
            Act::Left(which, left) => {
                let boxes: Vec<_> = shop.book.pieces().map(|piece| piece.tag).collect();
                if let Some(tag) = boxes.get(which % boxes.len().max(1)) {
                    let count = Counted {
                        quantity: Some(left),
                        ..Counted::default()
                    };
                    let said = Said::default();
                    let tag = *tag;
                    let counted = shop.try_say(Command::Count { said, tag, count });
                    done.extend(counted.ok().map(|entry| entry.seq));
                }
            }
            Act::TakenBack(which) => {
                if let Some(seq) = done.get(which % done.len().max(1)).copied() {
                    reverse(&mut shop, seq);
                }
            }
        }
    }
    shop
}

/// Cost of fifty pairs, first in first out and by average, reckoned by itself from the entries: what came
/// and went in the order of its time, in plain decimals. `None` where nothing that came stands.
fn reckoned(entries: &[Entry]) -> Option<[Decimal; 2]> {
    let gone: Vec<Seq> = (entries.iter().flat_map(|entry| &entry.deeds))
        .filter_map(|deed| match deed {
            Deed::Reversed { seq } => Some(*seq),
            _ => None,
        })
        .collect();
    let (mut held, mut moves) = (BTreeMap::new(), Vec::new());
    for entry in entries.iter().filter(|entry| !gone.contains(&entry.seq)) {
        let (mut pairs, mut cost) = (0, Decimal::ZERO);
        for deed in &entry.deeds {
            match deed {
                Deed::Received {
                    tag,
                    cost: Some(of),
                    ..
                } => {
                    held.insert(*tag, PAIRS);
                    (pairs, cost) = (pairs + PAIRS, cost + of.landed.amount);
                }
                Deed::SundryCounted {
                    tag, left_quantity, ..
                } => {
                    pairs += left_quantity - held.insert(*tag, *left_quantity).unwrap();
                }
                _ => {}
            }
        }
        moves.push((
            Reverse(entry.done_at),
            Reverse(entry.seq),
            Decimal::from(pairs),
            cost,
        ));
    }
    moves.sort();
    let [mut there, mut worth, mut unit, mut taken] = [Decimal::ZERO; 4];
    let mut layers = Vec::new();
    for (_, _, pairs, cost) in moves.into_iter().rev() {
        let average: Decimal = if there > Decimal::ZERO {
            worth / there
        } else {
            Decimal::ZERO
        };
        if cost > Decimal::ZERO {
            (there, worth) = (there + pairs, worth + cost);
            unit = worth / there;
            layers.push((pairs, cost / pairs));
        } else {
            let pairs = if there > Decimal::ZERO {
                pairs.max(-there)
            } else {
                Decimal::ZERO
            };
            (there, worth) = (there + pairs, worth + average * pairs);
        }
        taken += if cost > Decimal::ZERO {
            Decimal::ZERO
        } else {
            -pairs
        };
    }
    let (mut open, mut first) = (Decimal::from(PAIRS), Decimal::ZERO);
    for (pairs, each) in &layers {
        let here = (*pairs - taken).clamp(Decimal::ZERO, *pairs).min(open);
        taken -= (*pairs).min(taken);
        (open, first) = (open - here, first + here * each);
    }
    let all = Decimal::from(PAIRS) * unit;
    (!layers.is_empty()).then_some([first + open * unit, all])
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    /// Source: the reckoning above, after IAS 2, paragraph 27.
    #[test]
    fn any_history_costs_what_stands_of_it(acts in vec(act(), 1..25)) {
        let shop = lived(&acts);
        let half_a_cent = Decimal::new(5, 3) + Decimal::new(1, 9);
        if let Some(exact) = reckoned(&shop.entries) {
            for (ours, exact) in told(&shop).iter().zip(exact) {
                let ours: Decimal = ours.trim_end_matches(" EUR").parse().unwrap();
                prop_assert!((ours - exact).abs() <= half_a_cent, "{} and not {}", ours, exact);
            }
        }
    }
}
