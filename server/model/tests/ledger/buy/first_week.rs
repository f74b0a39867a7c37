//! The first week of a young shop.
//!
//! Goal: the list never proposes much more than it takes. Method: a shop with a few pads and bottles books
//! its first jobs; all combinations of packs are tried for the cheapest, freight included, that carries every
//! one of them as the check sees it, and the list is held against that and one pack.

use fettlebook_model::Id;
use fettlebook_model::check::check_jobs;
use fettlebook_model::policy::PolicyKey;
use fettlebook_model::reorder::{Cause, reorder_list};
use fettlebook_model::supplier::Supplier;
use rust_decimal::Decimal;

use super::{goes_for_chance, take_in};
use crate::shop::{Shop, dec, eur, id, offer, supplier};

/// Most packs of a make that are tried.
const PACKS_MAX: i64 = 5;
/// Makes with the pieces in a pack and its price.
const WARES: [(&str, i64, &str); 4] = [
    ("coarse-foam-150", 3, "27.00"),
    ("fine-foam-150", 2, "19.80"),
    ("coarse-compound-1l", 1, "24.50"),
    ("fine-polish-500ml", 1, "15.50"),
];
const FREIGHT: &str = "6.90";

/// A shop in its first week, with so many new pads of each grade and so many jobs two days apart.
fn young(coarse: i64, fine: i64, jobs: usize) -> Shop {
    let mut shop = Shop::new();
    shop.set_policy(PolicyKey::HandlingDays, 0);
    take_in(&mut shop, "coarse-foam-150", coarse);
    take_in(&mut shop, "fine-foam-150", fine);
    shop.receive_towels(24, 0);
    shop.receive("nitrile-gloves", 1);
    shop.supply(Supplier {
        freight: Some(eur(FREIGHT)),
        ..supplier(
            "tern-quay",
            2,
            WARES
                .map(|(make, pack, price)| offer(make, pack, &[(1, price)]))
                .to_vec(),
        )
    });
    for (at, day) in ["12", "14", "17"].iter().take(jobs).enumerate() {
        shop.book_saloon(&format!("job-{at}"), &format!("2026-03-{day} 08:00"));
    }
    shop
}

/// Whether all its booked jobs go for chance with so many packs more.
fn carries(shop: &Shop, packs: [i64; WARES.len()]) -> bool {
    let mut shop = shop.clone();
    for ((make, pack, _), count) in WARES.iter().zip(packs) {
        take_in(&mut shop, make, pack * count);
    }
    let jobs: Vec<Id> = shop.book.booked_jobs().map(|job| job.id.clone()).collect();
    let checks = check_jobs(&shop.book, &jobs, shop.now).unwrap();
    checks.iter().all(goes_for_chance)
}

fn cost(packs: [i64; WARES.len()]) -> Decimal {
    let goods: Decimal = WARES
        .iter()
        .zip(packs)
        .map(|((_, _, price), count)| dec(price) * Decimal::from(count))
        .sum();
    if goods.is_zero() {
        goods
    } else {
        goods + dec(FREIGHT)
    }
}

/// The cheapest packs and freight that carry the jobs, found by trying all, the cheapest first.
fn cheapest(shop: &Shop) -> Decimal {
    let mut all = Vec::new();
    for coarse in 0..=PACKS_MAX {
        for fine in 0..=PACKS_MAX {
            for compound in 0..=2 {
                for polish in 0..=2 {
                    all.push([coarse, fine, compound, polish]);
                }
            }
        }
    }
    all.sort_by_key(|packs| cost(*packs));
    let carrying = all.into_iter().find(|packs| carries(shop, *packs));
    cost(carrying.unwrap())
}

#[test]
fn the_list_of_a_young_shop_is_the_cheapest_that_carries_its_jobs_and_a_pack_at_most() {
    let dearest = WARES.iter().map(|(_, _, price)| dec(price)).max().unwrap();
    for (coarse, fine) in [(0, 0), (2, 6), (5, 2), (7, 5)] {
        for jobs in 0..=3 {
            let shop = young(coarse, fine, jobs);
            let list = reorder_list(&shop.book, None, None, shop.now).unwrap();
            let total: Decimal = list
                .baskets
                .iter()
                .map(|basket| basket.total.unwrap().amount)
                .sum();
            let least = cheapest(&shop);
            assert!(
                total <= least + dearest,
                "{coarse} coarse, {fine} fine, {jobs} jobs: {total} against {least}"
            );
            let lines = list.baskets.iter().flat_map(|basket| &basket.lines);
            let mut packs = [0; WARES.len()];
            for line in lines {
                assert_ne!(line.cause, Cause::KeepLevel);
                let at = WARES.iter().position(|(make, ..)| id(make) == line.make);
                packs[at.unwrap()] = line.pack_count;
            }
            assert!(carries(&shop, packs), "{coarse} {fine} {jobs} {packs:?}");
        }
    }
}
