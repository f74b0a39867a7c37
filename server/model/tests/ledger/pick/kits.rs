//! The pick over random kits, held against looking at every choice there is.

use fettlebook_model::damage::damage_of;
use fettlebook_model::policy::PolicyKey;
use proptest::collection::vec;
use proptest::prelude::{ProptestConfig, prop_assert, prop_assert_eq, proptest};
use proptest::sample::select;

use super::{COARSE, FINE, chance, damages_of, offer, shop_with};
use crate::shop::{Shop, id};

/// Further spares that may go along to reach a target.
const MORE_SPARES_MAX: usize = 3;

/// Damage of every pad of a make in the kit.
fn kit_damages(shop: &Shop, make: &str) -> Vec<f64> {
    let make = id(make);
    let pieces = shop.book.pieces_of(&make);
    pieces
        .map(|piece| damage_of(&shop.book, piece).unwrap())
        .collect()
}

/// The choice for cutting that works with the most worn from this one on, with as many of the freshest
/// left as spares.
fn choice(sorted: &[f64], from: usize, spares: usize) -> Option<Vec<f64>> {
    let mut choice = sorted.get(from..from + 5)?.to_vec();
    let left = sorted.get(from + 5..)?;
    choice.extend(left.iter().rev().take(spares));
    Some(choice)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    /// Whatever the kit: cutting takes the most worn that hold the target, with the freshest as spares
    /// and no more of them than it takes; where none hold it, the freshest.
    #[test]
    fn cutting_uses_up_what_the_target_allows(
        permilles in vec(0_i64..1_500, 5..24),
        torn in 0_usize..9,
        target in 0.5_f64..0.999,
        shape in select(&[500, 3_000, 6_000][..]),
        always in 0_usize..2,
    ) {
        let mut shop = shop_with(COARSE, &permilles, torn);
        shop.set_policy(PolicyKey::SparePadsCount, i64::try_from(always).unwrap());
        shop.set_policy(PolicyKey::ShapeFoamPermille, shape);
        let offer = offer(&shop, COARSE, target);
        let is = offer.chance.as_ref().unwrap();
        let mut sorted = kit_damages(&shop, COARSE);
        sorted.sort_by(|a, b| b.total_cmp(a));
        let picked = damages_of(&offer);
        prop_assert!((is.chance - chance(&shop, COARSE, 5, &picked)).abs() < 1e-9);
        let holding = (0..sorted.len())
            .filter_map(|from| choice(&sorted, from, always + MORE_SPARES_MAX))
            .find(|choice| chance(&shop, COARSE, 5, choice) >= target);
        match holding {
            Some(most_worn) => {
                prop_assert!(is.chance >= target, "{} {:?} {:?}", is.chance, picked, most_worn);
                // The first that works says from where on: none more worn would do.
                prop_assert!((picked[0] - most_worn[0]).abs() < 1e-9, "{:?} {:?}", picked, most_worn);
                let fewer = picked[..picked.len() - 1].to_vec();
                prop_assert!(fewer.len() < 5 + always || chance(&shop, COARSE, 5, &fewer) < target);
            }
            None => {
                prop_assert!(sorted.len() < 5 || is.chance < target);
                let freshest: Vec<f64> = sorted.iter().rev().take(picked.len()).copied().collect();
                let mut same = picked.clone();
                same.sort_by(f64::total_cmp);
                prop_assert_eq!(same, freshest);
            }
        }
    }

    /// Finishing takes the least worn there are, with more spares only where the target asks for them.
    #[test]
    fn finishing_takes_the_least_worn(
        permilles in vec(0_i64..1_500, 4..14),
        torn in 0_usize..12,
        target in 0.5_f64..0.999,
    ) {
        let shop = shop_with(FINE, &permilles, torn);
        let offer = offer(&shop, FINE, target);
        let is = offer.chance.as_ref().unwrap();
        let mut sorted: Vec<f64> = kit_damages(&shop, FINE);
        sorted.sort_by(f64::total_cmp);
        let picked = damages_of(&offer);
        prop_assert_eq!(&picked, &sorted[..picked.len()]);
        prop_assert!((is.chance - chance(&shop, FINE, 4, &picked)).abs() < 1e-9);
        prop_assert!(picked.len() >= sorted.len().min(4) && picked.len() <= 4 + MORE_SPARES_MAX);
        let at = |len: usize| chance(&shop, FINE, 4, &sorted[..len]);
        if picked.len() > 4 {
            prop_assert!(at(picked.len() - 1) < target);
        }
        let most = sorted.len().min(4 + MORE_SPARES_MAX);
        prop_assert!(most < 4 || at(most) < target || is.chance >= target, "{} {}", is.chance, target);
    }
}
